//go:build windows || js

package wholefile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// replace writes beside the file and renames: os.Rename replaces on Windows too,
// where renameio does nothing; the engine of a page, which has no files, goes without it.
func replace(name string, data []byte, _ fs.FileMode) error {
	f, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+"*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}
