package sound

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"rushlight/pkg/timecode"
)

// cut is one piece with everything measured in frames of the output, save in.
type cut struct {
	piece Piece
	info  Info
	sel   []int // channels of the source

	in               int64 // source frame of the piece's In
	missing          int64 // source frame from which sound may be missing
	lead, span, tail int64
	before, after    int64 // what the recording has outside lead and tail
	fadeIn, fadeOut  int64
	overlap          int64 // frames shared with the next cut
	gap              int64 // silence before the next cut
	gain             float64
	dither           bool
}

func (c *cut) frames() int64 { return c.lead + c.span + c.tail }

// plan is a whole stringout, measured before anything is written.
type plan struct {
	cuts   []*cut
	opt    StringoutOptions
	report StringoutReport
	// clock is the exact time laid so far, without the overlaps of
	// crossfades. Frames are cut from it, not from each length, so that what
	// is rounded off never adds up: a stringout stays with its edit list.
	clock timecode.Ticks
	total int64
}

func newPlan(ctx context.Context, pieces []Piece, opt StringoutOptions) (*plan, error) {
	if len(pieces) == 0 {
		return nil, fmt.Errorf("%w: there are none", ErrPiece)
	}
	p := &plan{opt: opt}
	infos := make(map[string]Info)
	for i, pc := range pieces {
		info, ok := infos[pc.Path]
		if !ok {
			r, err := openForPiece(ctx, pc.Path)
			if err != nil {
				return nil, fmt.Errorf("piece %d: %w", i+1, err)
			}
			info = r.Info()
			if err := r.Close(); err != nil {
				return nil, fmt.Errorf("piece %d: %w", i+1, err)
			}
			infos[pc.Path] = info
		}
		p.cuts = append(p.cuts, &cut{piece: pc, info: info})
	}
	p.defaults()
	noted := make(map[string]bool)
	for i, c := range p.cuts {
		if err := p.measure(c, i+1); err != nil {
			return nil, err
		}
		if !noted[c.piece.Path] && c.info.SampleRate != p.opt.SampleRate {
			p.note("%s: resampled from %d to %d Hz", c.piece.Path, c.info.SampleRate, p.opt.SampleRate)
		}
		noted[c.piece.Path] = true
	}
	p.join()
	return p, nil
}

func (p *plan) note(text string, args ...any) {
	p.report.Notes = append(p.report.Notes, fmt.Sprintf(text, args...))
}

// defaults fills in what the options leave open.
func (p *plan) defaults() {
	o := &p.opt
	if o.SampleRate == 0 {
		for _, c := range p.cuts {
			o.SampleRate = max(o.SampleRate, c.info.SampleRate)
		}
	}
	if o.Bits == 0 {
		o.Bits = defaultBits
	}
	if o.Channels == 0 {
		o.Channels = 1
	}
	if o.Crossfade == 0 {
		o.Crossfade = defaultCrossfade
	}
	o.Crossfade, o.Gap = max(o.Crossfade, 0), max(o.Gap, 0)
	p.report.SampleRate, p.report.Bits, p.report.Channels = o.SampleRate, o.Bits, o.Channels
}

// measure turns a piece's times into frames and checks them.
func (p *plan) measure(c *cut, number int) error {
	bad := func(text string, args ...any) error {
		return fmt.Errorf("%w: piece %d (%s): %s", ErrPiece, number, c.piece.Path, fmt.Sprintf(text, args...))
	}
	pc, rate, there := c.piece, c.info.SampleRate, c.info.Frames
	in, out := pc.In.Samples(rate, timecode.Nearest), pc.Out.Samples(rate, timecode.Nearest)
	if in < 0 || out <= in {
		return bad("from %s to %s is no span", pc.In, pc.Out)
	}
	if in >= there {
		return bad("it begins at %s, the recording ends at %s", pc.In, c.info.Duration())
	}
	if out > there {
		p.note("piece %d (%s): its end %s lies beyond the end of the recording, %s: cut there", number, pc.Path, pc.Out, c.info.Duration())
		out = there
	}
	at := func(frames int64) timecode.Ticks { return timecode.FromSamples(frames, rate) }
	c.in, c.missing = in, math.MaxInt64
	if c.info.Codec != "" {
		// A decoded file is known only when it was read: its last tenth of a
		// second, and what lies behind the piece, may not be there.
		c.missing = max(in, out-int64(rate)/10)
	}
	if number > 1 {
		p.cuts[number-2].gap = p.length(p.opt.Gap)
	}
	c.lead = p.length(min(max(pc.Lead, 0), at(in)))
	c.span = p.length(min(pc.Out, at(there)) - pc.In)
	c.tail = p.length(min(max(pc.Tail, 0), at(there-out)))
	c.before = max(0, at(in).Samples(p.opt.SampleRate, timecode.Floor)-c.lead)
	c.after = max(0, at(there-out).Samples(p.opt.SampleRate, timecode.Floor)-c.tail)
	if c.span == 0 {
		return bad("from %s to %s is shorter than one sample", pc.In, pc.Out)
	}
	c.sel = pc.Channels
	if c.sel == nil {
		for ch := range c.info.Channels {
			c.sel = append(c.sel, ch)
		}
	}
	if len(c.sel) == 0 {
		return bad("it uses no channel")
	}
	if ch := slices.Max(c.sel); ch >= c.info.Channels || slices.Min(c.sel) < 0 {
		return bad("no channel %d, the recording has 0 to %d", ch, c.info.Channels-1)
	}
	c.gain = math.Pow(10, pc.GainDB/20)
	if math.IsNaN(c.gain) || math.IsInf(c.gain, 0) {
		return bad("gain of %v dB", pc.GainDB)
	}
	c.dither = p.reduces(c)
	given := func(frames int64) timecode.Ticks { return timecode.FromSamples(frames, p.opt.SampleRate) }
	p.report.Placed = append(p.report.Placed, Placed{In: at(in), Out: at(out), Lead: given(c.lead), Tail: given(c.tail)})
	return nil
}

// length lays a time and gives it in output frames: those between where the
// clock was and where it is now, each to the nearest.
func (p *plan) length(t timecode.Ticks) int64 {
	before := p.clock.Samples(p.opt.SampleRate, timecode.Nearest)
	p.clock += t
	return p.clock.Samples(p.opt.SampleRate, timecode.Nearest) - before
}

// openForPiece opens a source whose length must be right before it is laid.
func openForPiece(ctx context.Context, path string) (Stream, error) {
	s, err := OpenMedia(ctx, path)
	if err != nil {
		return nil, err
	}
	s.SkipEssence()
	if m, ok := s.(*media); ok && m.guessed && !m.whole {
		if err := m.count(); err != nil {
			return nil, errors.Join(err, s.Close())
		}
	}
	return s, nil
}

// reduces tells whether writing the piece loses bits that dither should mask:
// a deeper source, or, at 16 bits and below, any arithmetic on the samples.
func (p *plan) reduces(c *cut) bool {
	bits := p.opt.Bits
	if bits >= 32 {
		return false
	}
	touched := c.info.SampleRate != p.opt.SampleRate || c.gain != 1 || p.averages(c)
	return c.info.Float && c.info.Codec == "" || c.info.ValidBits > bits || bits <= 16 && touched
}

// averages tells whether a piece's channels are mixed into one.
func (p *plan) averages(c *cut) bool { return len(c.sel) > 1 && len(c.sel) != p.opt.Channels }

// join decides every joint and where each piece comes to lie. A crossfade is
// made of sound from outside the handles, half of it on either side, so that it
// takes nothing off the length and a stringout lies under its edit list.
func (p *plan) join() {
	rate := p.opt.SampleRate
	cross := p.opt.Crossfade.Samples(rate, timecode.Nearest)
	edge := min(edgeFade.Samples(rate, timecode.Nearest), cross)
	fade := func(handle int64) int64 { return max(min(cross, handle), edge) }
	for _, c := range p.cuts {
		c.fadeIn, c.fadeOut = min(fade(c.lead), c.frames()), min(fade(c.tail), c.frames())
	}
	for i, c := range p.cuts[:len(p.cuts)-1] {
		if next := p.cuts[i+1]; p.opt.Gap == 0 && c.tail >= cross && next.lead >= cross {
			c.crossInto(next, cross)
		}
	}
	at := int64(0)
	for i, c := range p.cuts {
		p.report.Placed[i].Start, p.report.Placed[i].End = at+c.lead, at+c.lead+c.span
		if at += c.frames(); i < len(p.cuts)-1 {
			at += c.gap - c.overlap
		}
	}
	p.total, p.report.Frames = at, at
}

// crossInto lays the end of c over the start of next, for so many frames or as
// many as both recordings have. Where they have none the fades meet.
func (c *cut) crossInto(next *cut, frames int64) {
	before := min(frames/2, next.before)
	after := min(frames-before, c.after)
	before = min(frames-after, next.before)
	if c.overlap = before + after; c.overlap == 0 {
		return
	}
	next.lead, c.tail = next.lead+before, c.tail+after
	c.fadeOut, next.fadeIn = c.overlap, c.overlap
}
