package visits

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/gofrs/flock"
)

// lockWait is how long somebody else may take to compare and replace.
const lockWait = 3 * time.Second

// lock takes the system's lock of a file of this name, which is made for it and
// taken away again. It ends with its process, however that ends; the file that is
// left then is in nobody's way.
func lock(name string) (unlock func(), err error) {
	ctx, cancel := context.WithTimeout(context.Background(), lockWait)
	defer cancel()
	for {
		if info, err := os.Lstat(name); err == nil && !info.Mode().IsRegular() {
			return nil, fmt.Errorf("cannot write the visit: %s is in the way, and is no file", name)
		}
		l := flock.New(name, flock.SetPermissions(0o666))
		if _, err := l.TryLockContext(ctx, 10*time.Millisecond); errors.Is(err, context.DeadlineExceeded) {
			return nil, fmt.Errorf("someone else is writing the visit, for %v already: %s is locked", lockWait, name)
		} else if err != nil {
			return nil, fmt.Errorf("cannot write beside the visit: %w", err)
		}
		// Whoever had it took the file away: what is locked must be what others find.
		ours, err := l.Stat()
		if err == nil {
			if found, err := os.Stat(name); err == nil && os.SameFile(ours, found) {
				return func() {
					os.Remove(name) // stays where an open file cannot be removed
					l.Unlock()
				}, nil
			}
		}
		l.Unlock()
	}
}
