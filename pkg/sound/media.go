package sound

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
)

func openMedia(context.Context, string) (Stream, error) {
	return nil, errors.New("not built yet")
}

func hashAll(ctx context.Context, name string, r io.Reader) (string, error) {
	h := sha256.New()
	buf := make([]byte, 1<<20)
	for {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		n, err := r.Read(buf)
		h.Write(buf[:n])
		if errors.Is(err, io.EOF) {
			return hex.EncodeToString(h.Sum(nil)), nil
		}
		if err != nil {
			return "", readError(name, -1, err)
		}
	}
}
