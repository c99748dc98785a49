package timedtext

import (
	"fmt"

	"rushlight/pkg/timecode"
)

// stlCode is a time code as EBU STL has it: hours, minutes, seconds and frames,
// a byte each (Tech 3264, TCI and TCO).
type stlCode [4]byte

// String is the code as a label.
func (c stlCode) String() string { return fmt.Sprintf("%02d:%02d:%02d:%02d", c[0], c[1], c[2], c[3]) }

// possible tells whether some rate of EBU STL has the code.
func (s *stlReader) possible(c stlCode) bool {
	return c[0] < 24 && c[1] < 60 && c[2] < 60 && int64(c[3]) < max(30, s.base.Rate.Nominal())
}

// countFrames sees whether the time codes are of the rate that the header says.
// In a file of 30 frames a second that says 25, each sixth code has a frame
// beyond 24; in one that doesn't drop labels, some codes are such as drop-frame
// never has.
func (s *stlReader) countFrames() {
	const share = 20
	beyond, dropped := 0, 0
	whole := timecode.Base{Rate: s.base.Rate}
	for _, pair := range s.codes {
		for _, c := range pair {
			if !s.possible(c) {
				continue
			}
			if int64(c[3]) >= s.base.Rate.Nominal() {
				beyond++
			} else if _, err := s.base.Frame(c.String()); err != nil {
				if _, err := whole.Frame(c.String()); err == nil {
					dropped++
				}
			}
		}
	}
	switch {
	case beyond > 1 && beyond*share >= 2*len(s.codes):
		s.doc.Repairs = append(s.doc.Repairs, Repair{Byte: 3, What: fmt.Sprintf(
			"the header says %s frames a second, but %d time codes have frames beyond that: read at 30", s.base.Rate, beyond)})
		s.base = timecode.Base{Rate: timecode.Rate30}
	case dropped > 0:
		s.doc.Repairs = append(s.doc.Repairs, Repair{Byte: 3, What: fmt.Sprintf(
			"%d time codes are such as drop-frame never has: read without drop", dropped)})
		s.base = whole
	}
	s.doc.Base = s.base
	if tcp := s.doc.Metadata["TCP"]; len(tcp) == 8 && digits(tcp) {
		label := tcp[0:2] + ":" + tcp[2:4] + ":" + tcp[4:6] + ":" + tcp[6:8]
		if n, err := s.base.Frame(label); err == nil {
			s.doc.ProgrammeStart = s.base.Rate.Ticks(n)
		} else {
			s.doc.Repairs = append(s.doc.Repairs, Repair{Byte: 256, What: fmt.Sprintf("programme start left out: %v", err)})
		}
	}
}

// times gives the cues the times of their codes. One that no rate has is a
// slip: the subtitle is kept behind the one before, or until the next.
func (s *stlReader) times() {
	cues := s.doc.Cues
	s.doc.Cues = cues[:0]
	for i, c := range cues {
		var err error
		if c.In, err = s.code(&c, s.codes[i][0]); err != nil {
			s.repairAt(&c, "%s: the subtitle is kept behind the one before", problem(err))
			c.In = s.behind()
			s.slip(i, err)
		}
		if c.Out, err = s.code(&c, s.codes[i][1]); err != nil {
			s.repairAt(&c, "%s: the subtitle ends where the next begins", problem(err))
			c.Out, c.OpenEnd = NoTime, true
		}
		s.doc.Cues = append(s.doc.Cues, c)
	}
}

// code is the time of a code of a cue. A single frame that the rate lacks is
// taken for the last of its second.
func (s *stlReader) code(cue *Cue, c stlCode) (timecode.Ticks, error) {
	if !s.possible(c) {
		return 0, &ParseError{
			Byte: cue.Byte, Problem: "no time code: " + c.String(),
			Hint: "correct the times of the subtitles",
		}
	}
	if n := s.base.Rate.Nominal(); int64(c[3]) >= n {
		s.repairAt(cue, "%s has no such frame at %s frames a second: taken for the last of its second", c, s.base)
		c[3] = byte(n - 1)
	}
	n, err := s.base.Frame(c.String())
	if err != nil {
		return 0, err
	}
	return s.base.Rate.Ticks(n), nil
}
