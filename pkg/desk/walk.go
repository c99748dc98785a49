package desk

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/sound"
	"rushlight/pkg/timedtext"
)

// kind is what a file seems to be by its name.
type kind int

const (
	kindOther kind = iota
	kindSound
	kindText
)

func kindOf(path string) kind {
	ext := strings.ToLower(filepath.Ext(path))
	switch {
	case ext == ".wav" || ext == ".wave" || ext == ".bwf" || ext == ".rf64" || ext == ".bw64":
		return kindSound
	case slices.Contains(sound.MediaExtensions(), ext):
		return kindSound
	case slices.Contains(timedtext.Extensions(), ext):
		return kindText
	}
	return kindOther
}

// found is one file to take in.
type found struct {
	path string // absolute
	kind kind
	info fs.FileInfo
}

// gathered is what a walk over the paths of a call brought.
type gathered struct {
	files   []found
	refused []FileReport
	// passed are files in folders that are neither sound nor timed text.
	passed []string
}

// gather lists the files under paths: folders in name order, links followed
// once, hidden files and banks passed over. A file named by hand is taken
// whatever it is called.
func gather(ctx context.Context, paths []string) (gathered, error) {
	g := walker{seen: map[string]bool{}, files: map[string]bool{}}
	for _, p := range paths {
		if err := g.path(ctx, p, true); err != nil {
			return g.gathered, err
		}
	}
	return g.gathered, nil
}

type walker struct {
	gathered
	// seen holds the real paths of folders walked, files those of files.
	seen, files map[string]bool
}

func (g *walker) path(ctx context.Context, path string, byHand bool) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err != nil {
		g.refuse(path, err)
		return nil
	}
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		g.refuse(path, err)
		return nil
	}
	if info.IsDir() {
		return g.folder(ctx, path, absolute(real))
	}
	k := kindOf(path)
	switch {
	case !info.Mode().IsRegular():
		g.refused = append(g.refused, FileReport{Path: path, State: Refused, What: "not a file: a pipe, socket or device", Hint: "copy the sound into a file first"})
	case k == kindOther && !byHand:
		g.passed = append(g.passed, path)
	case g.files[absolute(real)]:
	default:
		g.files[absolute(real)] = true
		g.files[absolute(path)] = true
		g.gathered.files = append(g.gathered.files, found{path: absolute(path), kind: k, info: info})
	}
	return nil
}

func (g *walker) folder(ctx context.Context, path, real string) error {
	if g.seen[real] {
		return nil
	}
	g.seen[real] = true
	if exists(filepath.Join(path, "bank.db")) {
		return nil
	}
	entries, err := os.ReadDir(path)
	if err != nil {
		g.refuse(path, err)
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") {
			continue
		}
		if err := g.path(ctx, filepath.Join(path, e.Name()), false); err != nil {
			return err
		}
	}
	return nil
}

// refuse reports a path that can't be looked at.
func (g *walker) refuse(path string, err error) {
	r := FileReport{Path: path, State: Refused, What: plainError(err)}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		r.Hint = "check the name; a link may point to a place that is gone"
	case errors.Is(err, fs.ErrPermission):
		r.Hint = "ask for the right to read it, or copy it"
	default:
		r.Hint = "check the link or the disk"
	}
	g.refused = append(g.refused, r)
}

// plainError says an error about a file without the file's name, which the
// report gives already.
func plainError(err error) string {
	var p *fs.PathError
	var w *sound.FileError
	var t *timedtext.ParseError
	switch {
	case errors.As(err, &p) && errors.Is(err, fs.ErrPermission):
		return "may not be read: permission denied"
	case errors.As(err, &p) && errors.Is(err, fs.ErrNotExist):
		return "no such file or folder"
	case errors.As(err, &p):
		return p.Err.Error()
	case errors.As(err, &w):
		return strings.TrimPrefix(err.Error(), w.Name+": ")
	case errors.As(err, &t) && t.Line > 0:
		return fmt.Sprintf("line %d: %s", t.Line, t.Problem)
	case errors.As(err, &t):
		return strings.TrimPrefix(err.Error(), t.Name+": ")
	}
	return err.Error()
}

// FileState says what became of a file.
type FileState string

// The states of a file after ingest.
const (
	StateNew  FileState = "new"
	Unchanged FileState = "unchanged"
	Corrected FileState = "corrected"
	Moved     FileState = "moved"
	Refused   FileState = "refused"
	// ReadAgain is a file that hasn't changed and was read anew, as asked.
	ReadAgain FileState = "reread"
)

// FileReport says what became of one file.
type FileReport struct {
	Path  string    `json:"path"`
	State FileState `json:"state"`
	Reel  string    `json:"reel,omitempty"`
	// What says it for people: what was found, or why it was refused.
	What string `json:"what,omitempty"`
	Hint string `json:"hint,omitempty"`
	// Notes are things that were wrong and got over, with their place.
	Notes  []string `json:"notes,omitempty"`
	Quotes int      `json:"quotes,omitempty"`
	err    error
}

// refusal turns an error into the report of a refused file. Errors that stop
// the whole run (a full disk, a busy bank, an interrupt) are no refusals.
func refusal(path, reel string, err error) FileReport {
	r := FileReport{Path: path, State: Refused, Reel: reel, What: plainError(err), Hint: Hint(err), err: err}
	return r
}

// stops tells whether an error ends the run instead of one file.
func stops(err error) bool {
	return errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) ||
		errors.Is(err, bank.ErrFull) || errors.Is(err, bank.ErrBusy) || errors.Is(err, bank.ErrReadOnly)
}

// String prints the report without its notes.
func (r FileReport) String() string {
	return fmt.Sprintf("%s %s: %s", r.State, r.Path, r.What)
}
