// Package cachehome keeps the layout engine's compiled code in a folder that
// only its user can write.
//
// The engine (go-graphviz) compiles itself while the program starts, before
// main, and loads what it compiled last time from a folder of fixed name in
// the shared temporary directory, where another user could plant code. There
// is no setting for it. So this package moves the temporary directory first:
// it imports nothing but os and syscall, and the language initialises a
// package as soon as its imports are ready, in order of import path, so it
// runs before anything that needs more than os, as the engine does. Package
// rank calls [Leave] once the engine is up.
package cachehome

import "os"

// engineFolder is the name the engine gives its folder.
const engineFolder = "go-graphviz"

// nowhere cannot hold a folder: the engine then compiles anew and keeps
// nothing.
const nowhere = "/dev/null/none"

// before is the value to put back; it is set while packages initialise
// because nothing later would be early enough.
var before = enter()

// Leave puts the temporary directory back as it was.
func Leave() {
	if !before.moved {
		return
	}
	if before.set {
		os.Setenv(variable, before.value)
	} else {
		os.Unsetenv(variable)
	}
	before.moved = false
}

// Folder returns where the compiled engine is kept, or "" when there is no
// folder that is safe to use.
func Folder() string {
	base, err := os.UserCacheDir()
	if err != nil {
		return ""
	}
	return base + "/legtrace"
}

type environment struct {
	value      string
	set, moved bool
}

func enter() environment {
	if variable == "" {
		return environment{}
	}
	e := environment{moved: true}
	e.value, e.set = os.LookupEnv(variable)
	dir := Folder()
	if dir == "" || os.MkdirAll(dir, 0o700) != nil || !private(dir) {
		dir = nowhere
	} else if err := os.Mkdir(dir+"/"+engineFolder, 0o700); err != nil && !private(dir+"/"+engineFolder) {
		dir = nowhere
	}
	os.Setenv(variable, dir)
	return e
}
