//go:build !js

package rank

import (
	"os"
	"path/filepath"
)

// cacheFolder returns where the compiled layout engine is kept, made if need
// be. It is "" when there is no folder that only this user can write: what lies
// in it is run, so another could plant code there.
func cacheFolder() string {
	base, err := os.UserCacheDir()
	if err != nil {
		return ""
	}
	dir := filepath.Join(base, "legtrace")
	if os.MkdirAll(dir, 0o700) != nil || !private(dir) {
		return ""
	}
	return dir
}
