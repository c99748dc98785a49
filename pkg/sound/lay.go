package sound

import (
	"context"
	"errors"
	"io"
	"math"
	"math/rand/v2"

	"rushlight/pkg/timecode"
)

// layer writes the cuts of a plan one after another.
type layer struct {
	p      *plan
	w      *Writer
	block  [][]float64
	view   [][]float64
	carry  [][]float64 // the faded end of the last cut, for the overlap
	next   [][]float64
	random *rand.Rand
	step   float64 // one step of the output
	done   int64
	re     map[int]*resampler
	r      Stream // of path
	path   string
	bed    *bed // of the gap before the cut that is written
}

// lay writes the whole stringout to w.
func (p *plan) lay(ctx context.Context, w io.WriteSeeker) (err error) {
	out, err := NewWriter(w, WriterOptions{SampleRate: p.opt.SampleRate, Bits: p.opt.Bits, Channels: p.opt.Channels})
	if err != nil {
		return err
	}
	l := &layer{
		p: p, w: out, step: math.Ldexp(1, 1-p.opt.Bits), re: make(map[int]*resampler),
		block: planes(p.opt.Channels, writeFrames), view: make([][]float64, p.opt.Channels),
		// A fixed seed: the same pieces give the same file.
		random: rand.New(rand.NewPCG(1, 2)),
	}
	defer func() {
		cerr := l.turn(nil)
		if l.r != nil {
			cerr = errors.Join(cerr, l.r.Close())
		}
		if err == nil {
			err = cerr
		}
	}()
	for i, c := range p.cuts {
		if err := l.cut(ctx, i); err != nil {
			return err
		}
		if err := l.gap(ctx, c.gap); err != nil {
			return err
		}
	}
	if n := out.Clipped(); n > 0 {
		p.note("%d samples beyond full scale were clamped: lower the gain", n)
	}
	return out.Close()
}

func planes(channels, frames int) [][]float64 {
	out := make([][]float64, channels)
	for c := range out {
		out[c] = make([]float64, frames)
	}
	return out
}

// feed opens the cut's source, or keeps it open from the cut before.
func (l *layer) feed(ctx context.Context, c *cut) (*feed, error) {
	if l.path != c.piece.Path {
		if l.r != nil {
			err := l.r.Close()
			l.r, l.path = nil, ""
			if err != nil {
				return nil, err
			}
		}
		r, err := OpenMedia(ctx, c.piece.Path)
		if err != nil {
			return nil, err
		}
		r.SkipEssence()
		l.r, l.path = r, c.piece.Path
		if m, ok := r.(*media); ok && m.guessed {
			m.info.Frames, m.whole = c.info.Frames, true // counted by the plan
		}
		if now := r.Info(); now.Frames != c.info.Frames || now.SampleRate != c.info.SampleRate || now.Channels != c.info.Channels {
			return nil, &FileError{Name: l.path, Offset: -1, Err: ErrTruncated, Problem: "the file changed while the stringout was being written", Hint: "try again"}
		}
	}
	if now := l.r.Info().Frames; now < c.info.Frames && now >= c.missing {
		c.info.Frames = now // a decoded file that claimed more than it had
	}
	f := l.feedOf(l.r, c)
	return f, l.r.SeekFrame(min(max(f.pos, 0), c.info.Frames))
}

// feedOf makes a feed of a source that stands where the feed begins.
func (l *layer) feedOf(src FillSource, c *cut) *feed {
	rate := c.info.SampleRate
	if rate == l.p.opt.SampleRate {
		return newFeed(src, c, nil, l.p.opt.Channels)
	}
	if l.re[rate] == nil {
		l.re[rate] = newResampler(rate, l.p.opt.SampleRate)
	}
	return newFeed(src, c, l.re[rate], l.p.opt.Channels)
}

// cut writes cut i, all but the end that overlaps the next one.
func (l *layer) cut(ctx context.Context, i int) error {
	c := l.p.cuts[i]
	f, err := l.feed(ctx, c)
	if err != nil {
		return err
	}
	behind, err := l.openBed(i)
	if err != nil {
		return err
	}
	err = l.pour(ctx, c, f, behind)
	return errors.Join(err, l.turn(behind))
}

// pour writes what the feed gives, with what lies under its fades.
func (l *layer) pour(ctx context.Context, c *cut, f *feed, behind *bed) error {
	l.next = planes(l.p.opt.Channels, int(c.overlap))
	held := c.frames() - c.overlap
	for k := int64(0); k < c.frames(); {
		n := min(writeFrames, c.frames()-k)
		if k < held {
			n = min(n, held-k)
		}
		b := l.frames(n)
		if err := f.read(b); err != nil {
			return err
		}
		c.fade(b, k)
		l.overlay(b, k)
		if err := l.under(b, c, k, behind); err != nil {
			return err
		}
		if k >= held {
			for ch := range b {
				copy(l.next[ch][k-held:], b[ch])
			}
		} else {
			if c.dither {
				l.dither(b)
			}
			if err := l.emit(ctx, b); err != nil {
				return err
			}
		}
		k += n
	}
	l.carry = l.next
	return nil
}

// frames is the block, n frames long.
func (l *layer) frames(n int64) [][]float64 {
	for c := range l.view {
		l.view[c] = l.block[c][:n]
	}
	return l.view
}

// fade shapes what lies in the cut's fades; b begins at frame k. A quarter
// sine in and a quarter cosine out: their squares add up to one.
func (c *cut) fade(b [][]float64, k int64) {
	total := c.frames()
	for i := range b[0] {
		at := k + int64(i)
		g := 1.0
		if at < c.fadeIn {
			g *= math.Sin(math.Pi / 2 * (float64(at) + 0.5) / float64(c.fadeIn))
		}
		if left := total - 1 - at; left < c.fadeOut {
			g *= math.Sin(math.Pi / 2 * (float64(left) + 0.5) / float64(c.fadeOut))
		}
		if g == 1 {
			continue
		}
		for ch := range b {
			b[ch][i] *= g
		}
	}
}

// overlay adds the end of the cut before.
func (l *layer) overlay(b [][]float64, k int64) {
	for ch, carry := range l.carry {
		for i := k; i < int64(len(carry)) && i < k+int64(len(b[ch])); i++ {
			b[ch][i-k] += carry[i]
		}
	}
}

// dither adds noise of triangular distribution, one step each way (Lipshitz,
// Wannamaker & Vanderkooy 1992; recalled).
func (l *layer) dither(b [][]float64) {
	for _, s := range b {
		for i := range s {
			s[i] += (l.random.Float64() - l.random.Float64()) * l.step
		}
	}
}

// emit writes a block and tells how far we are.
func (l *layer) emit(ctx context.Context, b [][]float64) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := l.w.Write(b); err != nil {
		return err
	}
	l.done += int64(len(b[0]))
	if p := l.p; p.opt.Progress != nil {
		p.opt.Progress(timecode.FromSamples(l.done, p.opt.SampleRate), timecode.FromSamples(p.total, p.opt.SampleRate))
	}
	return nil
}
