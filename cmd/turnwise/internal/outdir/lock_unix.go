//go:build unix

package outdir

import (
	"os"
	"syscall"
)

// lock takes an advisory lock that the system lets go of when the process ends, however it ends.
func lock(path string) (func(), error) {
	for {
		f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o666)
		if err != nil {
			return nil, err
		}
		if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX); err != nil {
			f.Close()
			return nil, err
		}
		// The holder before us removed its file; a lock on that one would keep nobody out.
		if isCurrent(f, path) {
			return func() {
				os.Remove(path)
				f.Close()
			}, nil
		}
		f.Close()
	}
}

func isCurrent(f *os.File, path string) bool {
	mine, err := f.Stat()
	if err != nil {
		return false
	}
	now, err := os.Stat(path)
	return err == nil && os.SameFile(mine, now)
}
