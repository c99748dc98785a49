//go:build !unix

package bank

import (
	"errors"
	"syscall"
)

// The codes are ERROR_HANDLE_DISK_FULL, ERROR_DISK_FULL and
// ERROR_WRITE_PROTECT of Windows (recalled from memory).
func isFull(err error) bool {
	return errors.Is(err, syscall.Errno(39)) || errors.Is(err, syscall.Errno(112))
}

func isReadOnlyVolume(err error) bool { return errors.Is(err, syscall.Errno(19)) }
