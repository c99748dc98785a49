//go:build unix

package bank

import (
	"errors"
	"syscall"
)

func isFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT)
}

func isReadOnlyVolume(err error) bool { return errors.Is(err, syscall.EROFS) }
