package index

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// ErrNone tells that there is no usable generation: none was built yet, or
// only by another version of this package. Build makes one.
var ErrNone = errors.New("no index yet")

// ErrBusy tells that another process writes the index and didn't finish in
// the time that was waited.
var ErrBusy = errors.New("another process is writing the index")

// format changes when what is in the index changes its meaning; generations
// of another format count as none.
const format = 5

// boltTimeout is how long opening waits for a lock. A generation is only ever
// locked for the moment in which it is tested for removal.
const boltTimeout = "2s"

// writerWait is how long a writer waits for another.
const writerWait = 20 * time.Second

const (
	generationPrefix = "g-"
	workPrefix       = "new-"
	seenName         = "seen.json"
	columnsName      = "columns"
	lockName         = "writer.lock"
)

// seen is what a generation knows of the bank it shadows.
type seen struct {
	Format int    `json:"format"`
	Bank   string `json:"bank"`
	State  int64  `json:"state"`
}

// Seen tells which bank, and which of its states, the last complete
// generation in dir has seen. It reads one small file. ErrNone if there is no
// usable generation.
func Seen(dir string) (bankID string, state int64, err error) {
	_, s, err := latest(dir)
	return s.Bank, s.State, err
}

// latest finds the last complete generation of dir.
func latest(dir string) (path string, s seen, err error) {
	for range 10 {
		gens, err := generations(dir)
		if err != nil {
			return "", seen{}, err
		}
		if len(gens) == 0 {
			return "", seen{}, fmt.Errorf("%s: %w", dir, ErrNone)
		}
		path = filepath.Join(dir, gens[len(gens)-1])
		b, err := os.ReadFile(filepath.Join(path, seenName))
		if errors.Is(err, os.ErrNotExist) {
			continue // switched and removed since it was listed
		}
		if err != nil {
			return "", seen{}, err
		}
		if err := json.Unmarshal(b, &s); err != nil || s.Format != format {
			return "", seen{}, fmt.Errorf("%s: made by another version: %w", path, ErrNone)
		}
		return path, s, nil
	}
	return "", seen{}, fmt.Errorf("%s: %w", dir, ErrNone)
}

// generations lists the complete generations in dir, oldest first.
func generations(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var gens []string
	for _, e := range entries {
		if e.IsDir() && number(e.Name()) > 0 {
			gens = append(gens, e.Name())
		}
	}
	slices.SortFunc(gens, func(a, b string) int { return number(a) - number(b) })
	return gens, nil
}

// number is the number of a generation's folder, 0 if the name is not one.
func number(name string) int {
	digits, ok := strings.CutPrefix(name, generationPrefix)
	n, err := strconv.Atoi(digits)
	if !ok || err != nil || n < 1 {
		return 0
	}
	return n
}

// writer holds the right to make a new generation.
type writer struct {
	dir  string
	lock *bbolt.DB
	work string
}

// newWriter waits for the right to write and makes the folder in which the
// next generation grows. What a killed writer left is removed.
//
// The lock is a bolt file because bolt's locks work alike on every system and
// end with the process that holds them.
func newWriter(ctx context.Context, dir string) (*writer, error) {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, err
	}
	deadline := time.Now().Add(writerWait)
	var lock *bbolt.DB
	for {
		var err error
		lock, err = bbolt.Open(filepath.Join(dir, lockName), 0o666, &bbolt.Options{Timeout: 200 * time.Millisecond, NoFreelistSync: true})
		if err == nil {
			break
		}
		if !errors.Is(err, bolterrors.ErrTimeout) {
			return nil, err
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if time.Now().After(deadline) {
			return nil, fmt.Errorf("%s: %w", dir, ErrBusy)
		}
	}
	w := &writer{dir: dir, lock: lock}
	left, err := pathsIn(dir, func(name string) bool { return strings.HasPrefix(name, workPrefix) })
	for _, path := range left {
		_ = os.RemoveAll(path)
	}
	if err == nil {
		w.work, err = os.MkdirTemp(dir, workPrefix)
	}
	if err != nil {
		_ = lock.Close()
		return nil, err
	}
	return w, nil
}

// pathsIn lists the paths in a folder whose names are wanted. Not by Glob: a
// bank may lie in "The Far Bank [2026]", which would be a pattern.
func pathsIn(dir string, wanted func(name string) bool) ([]string, error) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, e := range list {
		if wanted(e.Name()) {
			paths = append(paths, filepath.Join(dir, e.Name()))
		}
	}
	return paths, nil
}

// finish marks the new generation with what it has seen, switches to it and
// removes old ones that nobody reads.
func (w *writer) finish(bankID string, state int64) error {
	b, err := json.Marshal(seen{Format: format, Bank: bankID, State: state})
	if err != nil {
		return err
	}
	if err := writeSynced(filepath.Join(w.work, seenName), func(w *bufio.Writer) { _, _ = w.Write(b) }); err != nil {
		return err
	}
	if err := shareWithAll(w.work); err != nil {
		return err
	}
	if err := syncDir(w.work); err != nil {
		return err
	}
	gens, err := generations(w.dir)
	if err != nil {
		return err
	}
	next := 1
	if len(gens) > 0 {
		next = number(gens[len(gens)-1]) + 1
	}
	if err := os.Rename(w.work, filepath.Join(w.dir, fmt.Sprintf("%s%08d", generationPrefix, next))); err != nil {
		return err
	}
	w.work = ""
	if err := syncDir(w.dir); err != nil {
		return err
	}
	for _, g := range gens {
		removeIfUnread(filepath.Join(w.dir, g))
	}
	return nil
}

// close gives the right back and removes what was not finished.
func (w *writer) close() {
	if w.work != "" {
		_ = os.RemoveAll(w.work)
	}
	_ = w.lock.Close()
}

// removeIfUnread removes an old generation unless a reader has it open: each
// reader holds a shared lock on its root.bolt for as long as it reads. A
// reader that had listed the folder but not yet opened it finds it gone and
// takes the next. Removal that fails is tried again by the next writer.
func removeIfUnread(path string) {
	bolt := filepath.Join(path, "root.bolt")
	if _, err := os.Stat(bolt); err == nil {
		db, err := bbolt.Open(bolt, 0o600, &bbolt.Options{Timeout: time.Millisecond})
		if err != nil {
			return
		}
		_ = db.Close()
	}
	_ = os.RemoveAll(path)
}

// writeSynced writes a file whole, through to the disk.
func writeSynced(path string, write func(*bufio.Writer)) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<16)
	write(w)
	if err := w.Flush(); err != nil {
		_ = f.Close()
		return err
	}
	if err := f.Sync(); err != nil {
		_ = f.Close()
		return err
	}
	return f.Close()
}

// syncDir makes names in a folder last; where the system can't, it is left.
func syncDir(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	_ = d.Sync()
	return d.Close()
}

// shareWithAll lets everyone who may read the bank read the new generation:
// the libraries below make files for their owner alone.
func shareWithAll(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := os.Chmod(filepath.Join(dir, e.Name()), 0o644); err != nil {
			return err
		}
	}
	return os.Chmod(dir, 0o755)
}
