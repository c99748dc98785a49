package listen

import (
	"fmt"
	"os"
)

const (
	pageSteps   = 1 << 12 // steps on a page: 41 s
	pagesInMind = 256     // pages kept in memory: 4 MiB, 2.9 hours of one channel
	pagesOpen   = 4       // pages of one channel that lie open for reading
)

// page holds the band levels of one channel over pageSteps steps.
type page [pageSteps * bandCount]uint8

// levelStore keeps the band levels of all channels of a recording, 1.4 MiB for
// each hour of each channel. Those of a recording with more than most pages go
// to a file in the system's folder for temporary files, so that memory doesn't
// grow with them. The file is removed at once where the system allows that,
// else by close. Where it can't be written (no folder, a full disk), the
// levels stay in memory.
//
// Only one goroutine at a time may use a store and its channels.
type levelStore struct {
	channels []levels
	// pages holds page k of channel c at k*len(channels)+c, nil where it is
	// in the file: all but the last held.
	pages   []*page
	held    int
	most    int
	spare   []*page // for writing
	file    *os.File
	name    string // of the file, if it still has to be removed
	refused bool   // the file takes no more
	err     error  // of reading
}

// levels are the band levels of one channel, written step by step, then read.
type levels struct {
	store   *levelStore
	channel int
	steps   int
	last    *page // being written
	open    [pagesOpen]openPage
}

// openPage is a page that lies open for reading.
type openPage struct {
	data   *page
	number uint  // from 1; 0 if there is none
	read   *page // for what comes from the file
}

// newLevelStore keeps up to most pages in memory, and always those being
// written.
func newLevelStore(channels, most int) *levelStore {
	s := &levelStore{channels: make([]levels, channels), most: most}
	for c := range s.channels {
		s.channels[c] = levels{store: s, channel: c}
	}
	return s
}

// add appends a step; each channel in order gets its own before the next step.
func (l *levels) add(lv [bandCount]uint8) {
	i := l.steps % pageSteps
	if i == 0 {
		if l.channel == 0 {
			l.store.relieve()
		}
		l.last = l.store.newPage()
	}
	copy(l.last[i*bandCount:], lv[:])
	l.steps++
}

func (s *levelStore) newPage() *page {
	var p *page
	if n := len(s.spare); n > 0 {
		p, s.spare = s.spare[n-1], s.spare[:n-1]
	} else {
		p = new(page)
	}
	s.pages = append(s.pages, p)
	s.held++
	return p
}

// relieve writes the pages in memory, all full, to the file if there is one or
// another page for each channel would be too many.
func (s *levelStore) relieve() {
	if s.refused || s.file == nil && s.held+len(s.channels) <= s.most {
		return
	}
	if s.file == nil && !s.makeFile() {
		return
	}
	for i := len(s.pages) - s.held; i < len(s.pages); i++ {
		if _, err := s.file.WriteAt(s.pages[i][:], place(i)); err != nil {
			s.refused = true
			return
		}
		if len(s.spare) < len(s.channels) {
			s.spare = append(s.spare, s.pages[i])
		}
		s.pages[i] = nil
		s.held--
	}
}

func (s *levelStore) makeFile() bool {
	s.file, s.name = makeTempFile("rushlight-levels-*")
	s.refused = s.file == nil
	return !s.refused
}

// place is where page i of a store lies in the file.
func place(i int) int64 { return int64(i) * int64(len(page{})) }

// at is the levels of a step, 0 to steps-1. They are valid until a page of the
// channel a multiple of pagesOpen away is read. A step that can't be read is
// silent, and its error stays in the store.
func (l *levels) at(step int) *[bandCount]uint8 {
	n := uint(step) / pageSteps
	o := &l.open[n%pagesOpen]
	if o.number != n+1 {
		l.turn(n)
	}
	i := uint(step) % pageSteps * bandCount
	return (*[bandCount]uint8)(o.data[i : i+bandCount])
}

// total is the level of all bands together at a step.
func (l *levels) total(step int) uint8 { return total(l.at(step)[:]) }

// turn opens page n.
func (l *levels) turn(n uint) {
	o, s := &l.open[n%pagesOpen], l.store
	o.number = n + 1
	i := int(n)*len(s.channels) + l.channel
	if p := s.pages[i]; p != nil {
		o.data = p
		return
	}
	if o.read == nil {
		o.read = new(page)
	}
	o.data = o.read
	if _, err := s.file.ReadAt(o.data[:], place(i)); err != nil {
		clear(o.data[:])
		if s.err == nil {
			s.err = fmt.Errorf("listen: levels set aside in a temporary file: %w", err)
		}
	}
}

// close gives back memory and file; nothing can be read afterwards. A second
// close does nothing.
func (s *levelStore) close() {
	s.pages, s.spare = nil, nil
	for c := range s.channels {
		s.channels[c].last, s.channels[c].open = nil, [pagesOpen]openPage{}
	}
	if s.file == nil {
		return
	}
	s.file.Close()
	if s.name != "" {
		os.Remove(s.name)
	}
	s.file = nil
}
