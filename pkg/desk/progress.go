package desk

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"

	"rushlight/pkg/timecode"
)

// Progress hears how far a long job is. Calls come from one goroutine.
type Progress interface {
	// Begin starts a job with total units of work, 0 if that isn't known.
	Begin(job string, total int64)
	// Reached tells how many units are done.
	Reached(done int64)
	// End tells that the job is over, well or not.
	End()
}

type noProgress struct{}

func (noProgress) Begin(string, int64) {}
func (noProgress) Reached(int64)       {}
func (noProgress) End()                {}

func (d *Desk) progress() Progress {
	if d.opt.Progress == nil {
		return noProgress{}
	}
	return d.opt.Progress
}

// Meter is a Progress that keeps one line up to date on a terminal: the job,
// the share done and the time left. It shows nothing for work that ends
// within its first half second.
type Meter struct {
	w       io.Writer
	now     func() time.Time
	job     string
	total   int64
	began   time.Time
	shown   time.Time
	visible bool
}

// NewMeter makes a meter that writes to a terminal.
func NewMeter(w io.Writer, now func() time.Time) *Meter { return &Meter{w: w, now: now} }

// Begin starts a job.
func (m *Meter) Begin(job string, total int64) {
	m.job, m.total, m.began, m.shown, m.visible = job, total, m.now(), time.Time{}, false
}

// Reached redraws the line at most ten times a second.
func (m *Meter) Reached(done int64) {
	now := m.now()
	spent := now.Sub(m.began)
	if spent < 500*time.Millisecond || now.Sub(m.shown) < 100*time.Millisecond {
		return
	}
	m.shown, m.visible = now, true
	fmt.Fprintf(m.w, "\r\x1b[K%s", meterLine(m.job, done, m.total, spent))
}

// End takes the line away.
func (m *Meter) End() {
	if m.visible {
		fmt.Fprint(m.w, "\r\x1b[K")
	}
	m.visible = false
}

// meterLine is at most 79 columns: "hearing D2-INT2  42 %  0:07 left".
func meterLine(job string, done, total int64, spent time.Duration) string {
	job = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) { // from the name of a file
			return '\uFFFD'
		}
		return r
	}, job)
	if r := []rune(job); len(r) > 50 {
		job = string(r[:49]) + "…"
	}
	if total <= 0 || done <= 0 {
		return fmt.Sprintf("%s  %s so far", job, minutes(spent))
	}
	done = min(done, total)
	left := time.Duration(float64(spent) * float64(total-done) / float64(done))
	return fmt.Sprintf("%s  %d %%  %s left", job, done*100/total, minutes(left))
}

// minutes prints 0:07 or 1:02:03, rounded up to a second.
func minutes(d time.Duration) string {
	s := int64((d + time.Second - 1) / time.Second)
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// count says "1 quote", "2 quotes", "no quotes".
func count[N int | int64](n N, one, many string) string {
	switch n {
	case 0:
		return "no " + many
	case 1:
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// length is a span of time for people.
func length(t timecode.Ticks) string { return t.Short() }

// joinAnd lists names with commas.
func joinAnd(names []string) string { return strings.Join(names, ", ") }
