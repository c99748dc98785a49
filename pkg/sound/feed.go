package sound

import (
	"errors"
	"fmt"
	"io"
	"slices"
)

// feed gives a cut's samples in order: chosen, mixed, resampled, with gain.
type feed struct {
	r     FillSource
	c     *cut
	block Block
	used  int   // frames of block already given
	pos   int64 // source frame that comes next; may lie before or behind the file

	re     *resampler // nil at the same rate
	window [][]float64
	base   int64 // source frame of window[.][0], from c.in
	k      int64 // next output frame, from the piece's own start
}

// newFeed makes the feed of a cut. r stays the caller's, who makes it stand at
// frame pos, or at 0 where that is negative.
func newFeed(r FillSource, c *cut, re *resampler, channels int) *feed {
	f := &feed{r: r, c: c, re: re, pos: c.in - c.lead, k: -c.lead}
	if re != nil {
		f.window = make([][]float64, channels)
		first, _ := re.place(f.k)
		f.base = first - re.reach + 1
		f.pos = c.in + f.base
	}
	return f
}

// read fills dst[channel] with the next samples.
func (f *feed) read(dst [][]float64) error {
	if f.re == nil {
		return f.source(dst)
	}
	n := int64(len(dst[0]))
	first, _ := f.re.place(f.k)
	last, _ := f.re.place(f.k + n - 1)
	if err := f.slide(first-f.re.reach+1, last+f.re.reach+1); err != nil {
		return err
	}
	for ch, d := range dst {
		for i := range d {
			whole, rest := f.re.place(f.k + int64(i))
			d[i] = f.re.at(f.window[ch], int(whole-f.base), rest)
		}
	}
	f.k += n
	return nil
}

// slide makes the window hold the source frames from first up to end.
func (f *feed) slide(first, end int64) error {
	drop := first - f.base
	more := int(end - f.base - int64(len(f.window[0])))
	fresh := make([][]float64, len(f.window))
	for ch, w := range f.window {
		kept := copy(w, w[drop:])
		w = w[:kept]
		f.window[ch] = append(w, make([]float64, more)...)
		fresh[ch] = f.window[ch][kept:]
	}
	f.base = first
	if more == 0 {
		return nil
	}
	return f.source(fresh)
}

// source fills dst with the next source frames; outside the file is silence.
func (f *feed) source(dst [][]float64) error {
	for at, n := 0, len(dst[0]); at < n; {
		run := n - at
		if f.pos < 0 || f.pos >= f.c.info.Frames {
			if f.pos < 0 {
				run = int(min(int64(run), -f.pos))
			}
			for _, d := range dst {
				clear(d[at : at+run])
			}
			at += run
			f.pos += int64(run)
			continue
		}
		if f.block.Samples == nil || f.used == len(f.block.Samples[0]) {
			b, err := f.r.Next()
			if errors.Is(err, io.EOF) && f.pos >= f.c.missing {
				f.c.info.Frames = f.pos
				continue
			}
			if errors.Is(err, io.EOF) {
				return fmt.Errorf("%s: %w: it has fewer samples than before", f.c.piece.Path, ErrTruncated)
			}
			if err != nil {
				return err
			}
			f.block, f.used = b, 0
		}
		run = min(run, len(f.block.Samples[0])-f.used)
		f.mix(dst, at, run)
		at += run
		f.used += run
		f.pos += int64(run)
	}
	return nil
}

// mix brings run frames of the block to dst: one channel for one channel, one
// for all, or the plain average for all.
func (f *feed) mix(dst [][]float64, at, run int) {
	sel, gain := f.c.sel, f.c.gain
	for ch, d := range dst {
		d = d[at : at+run]
		from := sel[:1]
		switch {
		case len(sel) == len(dst):
			from = sel[ch : ch+1]
		case len(sel) > 1 && ch > 0:
			copy(d, dst[0][at:at+run])
			continue
		case len(sel) > 1:
			from = sel
		}
		g := gain / float64(len(from))
		clear(d)
		for _, s := range from {
			g := g
			if slices.Contains(f.c.piece.Turned, s) {
				g = -g
			}
			for i, v := range f.block.Samples[s][f.used : f.used+run] {
				d[i] += v * g
			}
		}
	}
}
