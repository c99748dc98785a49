package sound

import (
	"bytes"
	"context"
	"errors"
	"io"
	"path/filepath"
	"slices"
	"strings"
)

// Stream is one recording read as blocks, whatever kind of file holds it:
// *Reader for the WAV family, a decoder for anything else. It isn't safe for
// use by two goroutines at once.
type Stream interface {
	// Info is what the file says of itself; complete after the last block.
	// The Frames of a decoded file are what its header claims until then.
	Info() Info
	// Next gives the next block, valid until the next call; io.EOF after the
	// last.
	Next() (Block, error)
	// SeekFrame moves to a frame, 0 to Frames.
	SeekFrame(frame int64) error
	// Essence knows the sound again. ErrNotSequential after SkipEssence and,
	// for the WAV family, unless every frame was read in order from 0 to the
	// end; a decoded file, whose bytes are hashed, can tell at any time.
	Essence() (string, error)
	// SkipEssence saves the time of hashing; for before the first Next.
	SkipEssence()
	// Close ends the reading. A second Close does nothing.
	Close() error
}

// Errors about files that need a decoder.
var (
	// ErrNoDecoder: ffmpeg or ffprobe is not on the PATH.
	ErrNoDecoder = errors.New("no decoder for this kind of file")
	// ErrNoSound: the file holds no audio, only pictures.
	ErrNoSound = errors.New("no audio in the file")
	// ErrMedia: the decoder can't make anything of the file.
	ErrMedia = errors.New("can't be decoded")
)

// MediaExtensions are the endings, lower case with their dot, that a walk
// through a folder should take as sound beside .wav.
func MediaExtensions() []string {
	return []string{
		".mov", ".mp4", ".m4v", ".mxf", ".mkv", ".avi", ".mts", ".m2ts", ".mpg", ".webm", ".3gp",
		".m4a", ".mp3", ".aac", ".flac", ".aif", ".aiff", ".aifc", ".ogg", ".opus", ".wma", ".caf", ".w64",
	}
}

func isMedia(path string) bool {
	return slices.Contains(MediaExtensions(), strings.ToLower(filepath.Ext(path)))
}

// OpenMedia opens any recording read-only: what begins like WAV, RF64 or BW64
// with Open, whatever its name; anything else is decoded by ffmpeg, which must
// be on the PATH. The decoder starts at the first Next and ends with Close or
// with ctx. Errors: those of Open; ErrNoDecoder, ErrNoSound, ErrMedia, each in
// a *FileError. A file that nobody can read and whose name promises nothing
// gives the error of Open.
func OpenMedia(ctx context.Context, path string) (Stream, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	ours, err := wavFamily(path)
	if err != nil {
		return nil, err
	}
	if ours {
		return openReader(path)
	}
	m, err := openMedia(ctx, path)
	if err == nil {
		return m, nil
	}
	if !isMedia(path) && ctx.Err() == nil && (errors.Is(err, ErrMedia) || errors.Is(err, ErrNoDecoder)) {
		return openReader(path)
	}
	return nil, err
}

// openReader is Open with a nil Stream beside an error.
func openReader(path string) (Stream, error) {
	r, err := Open(path)
	if err != nil {
		return nil, err
	}
	return r, nil
}

// EssenceMedia reads a file only to know it. For the WAV family it is Essence;
// for other files the SHA-256, in hex, of all their bytes (decision 0007).
// Same errors as OpenMedia.
func EssenceMedia(ctx context.Context, path string) (hash string, info Info, err error) {
	if err := ctx.Err(); err != nil {
		return "", Info{}, err
	}
	ours, err := wavFamily(path)
	if err != nil {
		return "", Info{}, err
	}
	if ours {
		return Essence(path)
	}
	s, err := OpenMedia(ctx, path)
	if err != nil {
		return "", Info{}, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	hash, err = hashFile(ctx, path)
	return hash, s.Info(), err
}

// wavFamily tells by its first bytes whether a file is for Reader: WAV, also
// a kind that it refuses by name, or no bytes at all. AVI is RIFF too, but
// not WAV.
func wavFamily(path string) (ours bool, err error) {
	f, size, err := openFile(path)
	if err != nil {
		return false, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	b := make([]byte, min(12, size))
	if _, err := io.ReadFull(f, b); err != nil {
		return false, readError(path, 0, err)
	}
	if len(b) < 12 {
		return len(b) == 0 || bytes.HasPrefix([]byte("RIFF"), b[:min(4, len(b))]), nil
	}
	switch string(b[:4]) {
	case "RIFF", "RF64", "BW64", "RIFX", "FFIR":
		return string(b[8:12]) == "WAVE", nil
	}
	return false, nil
}
