// Package alone keeps Graphviz from a cache that others could write to. As it
// starts, before any program's main, Graphviz looks for native code in a folder of
// fixed name below the shared temporary folder, and runs what it finds; a damaged
// file or a full disk there stops it. Where there is no such folder it compiles
// anew, in about a second.
//
// Packages start in the order of their import paths as soon as what they import
// has started (The Go Programming Language Specification, "Program
// initialization", from Go 1.21 on). This one imports nothing but syscall, so it
// starts before os, which Graphviz needs.
package alone

import "syscall"

// names are of what tells where the temporary folder is.
var names = [...]string{"TMPDIR", "TMP", "TEMP"}

// before is what they were.
var before [len(names)]*string

func init() {
	for i, name := range names {
		if value, ok := syscall.Getenv(name); ok {
			before[i] = &value
		}
		// Below what is no folder there can be none.
		if err := syscall.Setenv(name, nowhere); err != nil {
			panic("the environment cannot be set: " + err.Error())
		}
	}
}

// Over gives the temporary folder back, once Graphviz has started.
func Over() error {
	for i, name := range names {
		err := syscall.Unsetenv(name)
		if before[i] != nil {
			err = syscall.Setenv(name, *before[i])
		}
		if err != nil {
			return err
		}
	}
	return nil
}
