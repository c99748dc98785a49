package listen

import (
	"fmt"
	"os"
	"sync"
)

// shelfInMind is how much of band levels is kept in memory: nine hours.
const shelfInMind = 8 << 20

// levelShelf keeps the band levels of recordings that wait to be lined up:
// some in memory, the others in a file in the system's folder for temporary
// files, so that memory doesn't grow with a shoot. The file is removed at
// once where the system allows that, else by close. Where it can't be written, the
// levels stay in memory. Several goroutines may use it.
type levelShelf struct {
	mu      sync.Mutex
	held    int // bytes in memory
	file    *os.File
	name    string // of the file, if it still has to be removed
	end     int64  // of what is written
	refused bool   // the file takes no more
}

// shelved are levels on a shelf.
type shelved struct {
	inMind *bandLevels // nil if in the file
	at     int64
	frames int
}

// put takes levels, which nobody changes afterwards.
func (s *levelShelf) put(l *bandLevels) shelved {
	s.mu.Lock()
	defer s.mu.Unlock()
	size := scanBands * l.frames()
	if s.held+size > shelfInMind && s.write(l) {
		s.end += int64(size)
		return shelved{at: s.end - int64(size), frames: l.frames()}
	}
	s.held += size
	return shelved{inMind: l, frames: l.frames()}
}

func (s *levelShelf) write(l *bandLevels) bool {
	if s.file == nil && !s.refused {
		s.file, s.name = makeTempFile("rushlight-sync-*")
		s.refused = s.file == nil
	}
	at := s.end
	for b := range l {
		if s.refused {
			return false
		}
		n, err := s.file.WriteAt(l[b], at)
		at += int64(n)
		s.refused = err != nil
	}
	return !s.refused
}

// get gives levels back, which nobody may change.
func (s *levelShelf) get(x shelved) (*bandLevels, error) {
	if x.inMind != nil {
		return x.inMind, nil
	}
	l := &bandLevels{}
	for b := range l {
		l[b] = make([]uint8, x.frames)
		if _, err := s.file.ReadAt(l[b], x.at+int64(b*x.frames)); err != nil {
			return nil, fmt.Errorf("listen: levels set aside in a temporary file: %w", err)
		}
	}
	return l, nil
}

// close gives back memory and file: what was put is gone.
func (s *levelShelf) close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	var err error
	if s.file != nil {
		err = s.file.Close()
		if s.name != "" {
			os.Remove(s.name)
		}
	}
	s.held, s.file, s.name, s.end, s.refused = 0, nil, "", 0, false
	return err
}

// makeTempFile makes a file in the system's folder for temporary files and
// removes its name where the system does that to an open file; else the name
// is given. nil if it can't be made.
func makeTempFile(pattern string) (f *os.File, name string) {
	f, err := os.CreateTemp("", pattern)
	if err != nil {
		return nil, ""
	}
	if os.Remove(f.Name()) == nil { // not every system removes an open file
		return f, ""
	}
	return f, f.Name()
}
