//go:build !windows && !js

package wholefile

import (
	"io/fs"

	"github.com/google/renameio/v2"
)

func replace(name string, data []byte, perm fs.FileMode) error {
	return renameio.WriteFile(name, data, perm, renameio.WithExistingPermissions())
}
