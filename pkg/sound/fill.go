package sound

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"rushlight/pkg/timecode"
)

// bed is what fills one gap. It begins under the fade-out of the piece before
// and ends under the fade-in of the one behind, with equal power on both
// sides.
type bed struct {
	src             FillSource
	f               *feed
	block, view     [][]float64
	total, at       int64 // output frames
	fadeIn, fadeOut int64
	dither          bool
	piece           int // it follows this one, from 1
}

// openBed asks for what fills the gap after cut i; nil is silence.
func (l *layer) openBed(i int) (*bed, error) {
	p := l.p
	if p.opt.Fill == nil || p.cuts[i].gap == 0 {
		return nil, nil
	}
	src, err := p.opt.Fill(i)
	if err != nil {
		return nil, fmt.Errorf("gap after piece %d: %w", i+1, err)
	}
	if src == nil {
		return nil, nil
	}
	b := &bed{src: src, piece: i + 1, block: planes(p.opt.Channels, writeFrames), view: make([][]float64, p.opt.Channels)}
	if err := b.prepare(l, i); err != nil {
		return nil, errors.Join(fmt.Errorf("gap after piece %d: %w", i+1, err), b.close())
	}
	return b, nil
}

func (b *bed) prepare(l *layer, i int) error {
	info, p := b.src.Info(), l.p
	if info.Channels < 1 || info.SampleRate < 1 || info.SampleRate > maxSampleRate {
		return fmt.Errorf("%w: its filling has %d channels at %d Hz", ErrFormat, info.Channels, info.SampleRate)
	}
	c := &cut{info: info, gain: 1, missing: 0}
	for ch := range info.Channels {
		c.sel = append(c.sel, ch)
	}
	before, behind := p.cuts[i], p.cuts[i+1]
	b.fadeIn, b.fadeOut = before.fadeOut, behind.fadeIn
	b.total = before.fadeOut + before.gap + behind.fadeIn
	have := timecode.FromSamples(info.Frames, info.SampleRate).Samples(p.opt.SampleRate, timecode.Floor)
	if have < b.total {
		p.note("gap after piece %d: its filling is %s long, %s wanted: the rest is silence", i+1, info.Duration(), timecode.FromSamples(b.total, p.opt.SampleRate))
		b.total = have
		b.fadeOut = min(defaultCrossfade.Samples(p.opt.SampleRate, timecode.Nearest), have)
	}
	b.dither = p.reduces(c)
	b.f = l.feedOf(b.src, c)
	return nil
}

// add mixes the next frames into dst from frame from up to end.
func (b *bed) add(dst [][]float64, from, end int64) error {
	for end = min(end, from+b.total-b.at); from < end; {
		n := min(end-from, writeFrames)
		for ch := range b.view {
			b.view[ch] = b.block[ch][:n]
		}
		if err := b.f.read(b.view); err != nil {
			return fmt.Errorf("gap after piece %d: %w", b.piece, err)
		}
		for i := range n {
			g := b.gain(b.at + i)
			for ch := range dst {
				dst[ch][from+i] += g * b.view[ch][i]
			}
		}
		b.at += n
		from += n
	}
	return nil
}

func (b *bed) gain(at int64) float64 {
	g := 1.0
	if at < b.fadeIn {
		g = math.Sin(math.Pi / 2 * (float64(at) + 0.5) / float64(b.fadeIn))
	}
	if left := b.total - 1 - at; left < b.fadeOut {
		g *= math.Sin(math.Pi / 2 * (float64(left) + 0.5) / float64(b.fadeOut))
	}
	return g
}

func (b *bed) close() error {
	if c, ok := b.src.(io.Closer); ok {
		return c.Close()
	}
	return nil
}

// under lays the filling of the gap before and of the one behind cut c under
// its fades; the block begins at frame k.
func (l *layer) under(block [][]float64, c *cut, k int64, behind *bed) error {
	n := int64(len(block[0]))
	if l.bed != nil && k < c.fadeIn {
		if err := l.bed.add(block, 0, min(n, c.fadeIn-k)); err != nil {
			return err
		}
	}
	if start := c.frames() - c.fadeOut; behind != nil && k+n > start {
		return behind.add(block, max(0, start-k), n)
	}
	return nil
}

// turn puts the filling of the next gap in place of the last one's.
func (l *layer) turn(next *bed) error {
	old := l.bed
	l.bed = next
	if old == nil {
		return nil
	}
	return old.close()
}

// gap writes n frames of filling, or of silence.
func (l *layer) gap(ctx context.Context, n int64) error {
	for n > 0 {
		b := l.frames(min(n, writeFrames))
		for _, s := range b {
			clear(s)
		}
		if l.bed != nil {
			if err := l.bed.add(b, 0, int64(len(b[0]))); err != nil {
				return err
			}
			if l.bed.dither {
				l.dither(b)
			}
		}
		if err := l.emit(ctx, b); err != nil {
			return err
		}
		n -= int64(len(b[0]))
	}
	return nil
}
