package listen

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"rushlight/pkg/sound"
	"rushlight/pkg/timecode"
)

// ErrNoTone is wrapped by the error about spans that hold no sound to make
// room tone of.
var ErrNoTone = errors.New("no room tone")

// ToneSource is a recording that can be read from any frame; *sound.Reader is
// one.
type ToneSource interface {
	Source
	// SeekFrame moves to a frame, so that Next gives the block from there on.
	SeekFrame(frame int64) error
	Close() error
}

// Tone is a stream of room tone, as long as was asked for: a Source, so that
// it can be written, measured and heard like a recording. Its end goes over
// into its beginning: played in a loop it has no seam. The same spans and
// length give the same samples. It isn't safe for use by two goroutines at
// once.
type Tone struct {
	ctx    context.Context
	src    ToneSource
	info   sound.Info
	places []tonePlace // of the source, in frames
	total  int64       // frames of all places
	r      *rand.Rand
	recent []int64 // the last starts

	fade  int // frames of a crossfade
	piece int // frames of a piece, both crossfades included
	at    int64
	ready [][]float64 // what is to be given out next
	tail  [][]float64 // the end of the last piece, not yet crossfaded
	first [][]float64 // the lead-in of the first piece, for the seam
	next  [][]float64 // room for a piece
	out   [][]float64
}

type tonePlace struct{ from, to int64 }

const (
	toneFade   = 0.12    // s
	tonePiece  = 1.5     // s, longest piece with its crossfades
	toneShort  = 0.08    // s: what is shorter gives a flutter, not a tone
	toneMemory = 1 << 19 // samples of all channels that a piece may have
	toneSlide  = 0.011   // s that a join may move to where the waves agree
)

// MakeTone makes length of room tone out of the spans of a recording, best
// with what RoomTone gives. It opens the recording once; Close closes it.
// Pieces of up to 1.5 s are taken from the spans in a pseudo-random order and
// crossfaded over 0.12 s with equal power, each at the place where its wave
// fits the one before. Memory doesn't grow with the length.
//
// Errors: what open returns, ErrSource, ErrNoTone where no span holds 80 ms of
// sound or length is not above 0; ctx also stops Next.
func MakeTone(ctx context.Context, open func() (ToneSource, error), spans []timecode.Span, length timecode.Ticks) (*Tone, error) {
	src, err := open()
	if err != nil {
		return nil, fmt.Errorf("listen: room tone: %w", err)
	}
	t, err := newTone(ctx, src, spans, length)
	if err != nil {
		return nil, errors.Join(err, src.Close())
	}
	return t, nil
}

func newTone(ctx context.Context, src ToneSource, spans []timecode.Span, length timecode.Ticks) (*Tone, error) {
	info := src.Info()
	if info.Channels < 1 || info.SampleRate < 1 {
		return nil, fmt.Errorf("listen: room tone: %w: got %d channels at %d Hz", ErrSource, info.Channels, info.SampleRate)
	}
	rate := float64(info.SampleRate)
	t := &Tone{ctx: ctx, src: src, info: info}
	frames := length.Samples(info.SampleRate, timecode.Nearest)
	if frames < 1 {
		return nil, fmt.Errorf("listen: %w: asked for %s, want more than 0", ErrNoTone, length)
	}
	least := max(8, int64(toneShort*rate))
	longest := int64(0)
	for _, s := range spans {
		p := tonePlace{s.In.Samples(info.SampleRate, timecode.Ceil), s.Out.Samples(info.SampleRate, timecode.Floor)}
		p.from, p.to = max(0, p.from), min(p.to, info.Frames)
		if p.to-p.from >= least {
			t.places = append(t.places, p)
			longest = max(longest, p.to-p.from)
		}
	}
	if len(t.places) == 0 {
		return nil, fmt.Errorf("listen: %w: none of %d spans holds %.0f ms of sound", ErrNoTone, len(spans), 1000*toneShort)
	}
	t.sizes(longest, frames)
	t.info.Frames = frames
	t.info.DataOffset, t.info.Notes, t.info.Markers, t.info.Unfinished = 0, nil, nil, false
	t.info.Broadcast, t.info.Production = nil, nil
	t.r = rand.New(rand.NewPCG(uint64(frames), uint64(t.places[0].from)))
	return t, nil
}

// sizes settles how long pieces and crossfades are, and keeps the places that
// are long enough for a piece.
func (t *Tone) sizes(longest, frames int64) {
	rate := float64(t.info.SampleRate)
	most := max(8, int64(toneMemory/t.info.Channels))
	piece := min(int64(tonePiece*rate), most, longest)
	// Two pieces of a short span would be the same one.
	if longest < 3*piece && longest > int64(0.4*rate) {
		piece = max(int64(0.3*rate), longest/2)
	}
	t.piece = int(min(max(8, min(piece, most)), longest))
	t.fade = int(max(1, min(int64(toneFade*rate), int64(t.piece)/3, frames/2)))
	var keep []tonePlace
	for _, p := range t.places {
		if p.to-p.from >= int64(t.piece) {
			keep = append(keep, p)
			t.total += p.to - p.from - int64(t.piece) + 1
		}
	}
	t.places = keep
	make2 := func(n int) [][]float64 {
		x := make([][]float64, t.info.Channels)
		for c := range x {
			x[c] = make([]float64, n)
		}
		return x
	}
	t.next, t.tail, t.first = make2(t.piece), make2(t.fade), make2(t.fade)
	t.ready = make([][]float64, t.info.Channels)
	t.out = make([][]float64, t.info.Channels)
}

// Info is that of the source, with the tone's own length and without what the
// source says of itself (timecode, markers, notes).
func (t *Tone) Info() sound.Info { return t.info }

// Close closes the source.
func (t *Tone) Close() error { return t.src.Close() }

// Next is the next block, io.EOF after the last. Errors: those of the source,
// with the place in it, and ctx's.
func (t *Tone) Next() (sound.Block, error) {
	left := t.info.Frames - t.at
	if left <= 0 {
		return sound.Block{}, io.EOF
	}
	if len(t.ready[0]) == 0 {
		if err := t.ctx.Err(); err != nil {
			return sound.Block{}, fmt.Errorf("listen: room tone: stopped at %s: %w", timecode.FromSamples(t.at, t.info.SampleRate), err)
		}
		if err := t.more(); err != nil {
			return sound.Block{}, err
		}
	}
	n := int(min(int64(len(t.ready[0])), left))
	// What lies within the last crossfade goes over into the lead-in of the
	// first piece.
	seam := t.info.Frames - int64(t.fade)
	if t.at < seam {
		n = int(min(int64(n), seam-t.at))
	}
	for c := range t.out {
		t.out[c] = t.ready[c][:n]
		t.ready[c] = t.ready[c][n:]
	}
	if t.at >= seam {
		t.close(int(t.at-seam), n)
	}
	b := sound.Block{Start: t.at, Samples: t.out}
	t.at += int64(n)
	return b, nil
}

// close fades n frames that lie from frames into the seam.
func (t *Tone) close(from, n int) {
	for i := range n {
		a, b := toneGains(from+i, t.fade)
		for c := range t.out {
			t.out[c][i] = a*t.out[c][i] + b*t.first[c][from+i]
		}
	}
}

// toneGains are the gains of what goes and what comes at frame i of n: their
// powers add up to one.
func toneGains(i, n int) (goes, comes float64) {
	comes, goes = math.Sincos(math.Pi / 2 * (float64(i) + 0.5) / float64(n))
	return goes, comes
}

// more makes the next piece ready: crossfade and middle; its end waits for the
// piece after.
func (t *Tone) more() error {
	began := t.at == 0
	if err := t.read(t.pick()); err != nil {
		return err
	}
	start, n := 0, t.piece-t.fade
	if began {
		for c := range t.next {
			copy(t.first[c], t.next[c][:t.fade])
		}
		start = t.fade
	} else {
		var like float64
		start, like = t.fit()
		for i := range t.fade {
			a, b := toneGains(i, t.fade)
			even := 1 / math.Sqrt(1+2*a*b*like) // else what agrees would swell
			a, b = a*even, b*even
			for c, x := range t.next {
				x[start+i] = a*t.tail[c][i] + b*x[start+i]
			}
		}
	}
	for c, x := range t.next {
		t.ready[c] = x[start:n]
		copy(t.tail[c], x[n:])
	}
	return nil
}

// fit is the place in the first frames of the piece at which its wave fits the
// waiting end best: so hum goes on without a step of phase. like is how well, 0
// to 1 (their correlation).
func (t *Tone) fit() (at int, like float64) {
	reach := min(int(toneSlide*float64(t.info.SampleRate))*2, (t.piece-2*t.fade)/2)
	top := math.Inf(-1)
	var waiting float64
	for c := range min(2, len(t.next)) {
		for i := 0; i < t.fade; i += t.hop() {
			waiting += t.tail[c][i] * t.tail[c][i]
		}
	}
	hop := t.hop()
	for s := 0; s <= reach; s += hop {
		var both, own float64
		for c := range min(2, len(t.next)) {
			a, b := t.tail[c], t.next[c][s:s+t.fade]
			for i := 0; i < len(a); i += hop {
				both += a[i] * b[i]
				own += b[i] * b[i]
			}
		}
		if v := both / math.Sqrt(own+1e-30); v > top {
			at, top = s, v
		}
	}
	return at, math.Max(0, math.Min(1, top/math.Sqrt(waiting+1e-30)))
}

// hop is every how many frames are compared: enough to place a hum.
func (t *Tone) hop() int { return max(1, t.info.SampleRate/8000) }

// pick is the frame at which the next piece begins: anywhere in the places,
// but away from the pieces of late as far as that goes.
func (t *Tone) pick() int64 {
	var best, most int64 = 0, -1
	for range 8 {
		k := t.r.Int64N(t.total)
		var start int64
		for _, p := range t.places {
			n := p.to - p.from - int64(t.piece) + 1
			if k < n {
				start = p.from + k
				break
			}
			k -= n
		}
		near := int64(math.MaxInt64)
		for _, r := range t.recent {
			near = min(near, max(start-r, r-start))
		}
		if near > most {
			best, most = start, near
		}
		if near >= int64(t.piece) {
			break
		}
	}
	const remembered = 4
	t.recent = append(t.recent, best)
	if len(t.recent) > remembered {
		t.recent = t.recent[1:]
	}
	return best
}

// read fills t.next from a frame of the source.
func (t *Tone) read(from int64) error {
	where := func() timecode.Ticks { return timecode.FromSamples(from, t.info.SampleRate) }
	if err := t.src.SeekFrame(from); err != nil {
		return fmt.Errorf("listen: room tone: at %s of the source: %w", where(), err)
	}
	for got := 0; got < t.piece; {
		b, err := t.src.Next()
		if err != nil {
			if errors.Is(err, io.EOF) {
				err = io.ErrUnexpectedEOF
			}
			return fmt.Errorf("listen: room tone: at %s of the source: %w", where(), err)
		}
		if len(b.Samples) != len(t.next) {
			return fmt.Errorf("listen: room tone: at %s of the source: %w: block with %d channels, want %d", where(), ErrSource, len(b.Samples), len(t.next))
		}
		n := 0
		for c, x := range b.Samples {
			n = copy(t.next[c][got:], x)
		}
		got += n
	}
	for _, x := range t.next {
		for i, v := range x {
			if !(math.Abs(v) <= meterLoudest) {
				x[i] = 0
			}
		}
	}
	return nil
}
