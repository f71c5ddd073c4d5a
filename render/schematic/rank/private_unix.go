//go:build unix

package rank

import (
	"os"
	"syscall"
)

// private reports whether dir is a real folder of this user that nobody else
// can write or read.
func private(dir string) bool {
	info, err := os.Lstat(dir)
	if err != nil || !info.IsDir() || info.Mode().Perm()&0o077 != 0 {
		return false
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(stat.Uid) == os.Geteuid()
}
