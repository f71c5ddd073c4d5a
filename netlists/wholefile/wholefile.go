// Package wholefile replaces a file as a whole, on every system: whoever reads it
// finds what was there or what is new, and a program killed meanwhile leaves what
// was there.
package wholefile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// Write replaces the file of a name, or makes it with permissions as far as the
// user's mask allows; those of a file that is there stay. A symbolic link stays
// one: what it leads to is replaced.
func Write(name string, data []byte, perm fs.FileMode) error {
	name, err := Target(name)
	if err != nil {
		return err
	}
	return replace(name, data, perm)
}

// Target is the file that a name leads to over symbolic links, there or not.
func Target(name string) (string, error) {
	const most = 40 // as systems have it
	for range most {
		to, err := os.Readlink(name)
		if err != nil { // no link: a file, or nothing yet
			return name, nil
		}
		if !filepath.IsAbs(to) {
			to = filepath.Join(filepath.Dir(name), to)
		}
		name = to
	}
	return "", &fs.PathError{Op: "open", Path: name, Err: errors.New("too many symbolic links")}
}
