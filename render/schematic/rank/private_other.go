//go:build !unix && !js

package rank

import "os"

// private reports whether dir is a real folder. Elsewhere than on Unix the
// user's cache folder is the user's own by the rights it inherits.
func private(dir string) bool {
	info, err := os.Lstat(dir)
	return err == nil && info.IsDir()
}
