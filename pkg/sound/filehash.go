package sound

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
)

// fileHash hashes a whole file beside its decoder: both read the same bytes,
// so the disk has to give them once only.
type fileHash struct {
	cancel context.CancelFunc
	done   chan struct{}
	sum    string
	err    error
}

func newFileHash(ctx context.Context, path string) *fileHash {
	ctx, cancel := context.WithCancel(ctx)
	h := &fileHash{cancel: cancel, done: make(chan struct{})}
	go func() {
		h.sum, h.err = hashFile(ctx, path)
		close(h.done)
	}()
	return h
}

func (h *fileHash) wait() (string, error) {
	<-h.done
	return h.sum, h.err
}

func (h *fileHash) stop() {
	h.cancel()
	<-h.done
}

// hashFile is the SHA-256, in hex, of all bytes of a file.
func hashFile(ctx context.Context, path string) (hash string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	sum := sha256.New()
	buf := make([]byte, 256<<10)
	for {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		n, err := f.Read(buf)
		sum.Write(buf[:n])
		if errors.Is(err, io.EOF) {
			return hex.EncodeToString(sum.Sum(nil)), nil
		}
		if err != nil {
			return "", readError(path, -1, err)
		}
	}
}
