package listen

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"
)

// chooseChannels listens into 24 places of a quarter second. A channel is worth
// hearing by how much its level moves: voices move by 20 dB and more, hum,
// hiss and recorded timecode hardly, a dead channel not at all. Those that move at least
// half as much as the liveliest are mixed at like levels, each a little softer
// than the one before, so that two of opposite polarity don't cancel out.
func (t *syncTrack) chooseChannels(ctx context.Context, channels int) ([]float64, error) {
	const spots = 24
	levels := make([][]float64, channels)
	n := t.rate / 4
	x := make([][]float64, channels)
	for s := range spots {
		from := max(0, (t.frames-int64(n))*int64(s)/(spots-1))
		if err := t.readApart(ctx, from, n, x); err != nil {
			return nil, err
		}
		for c := range channels {
			levels[c] = appendLevels(levels[c], x[c], t.rate/50)
		}
	}
	moves, loud := make([]float64, channels), make([]float64, channels)
	var most float64
	for c, l := range levels {
		slices.Sort(l)
		if len(l) == 0 {
			continue
		}
		soft := l[len(l)/4]
		loud[c] = l[len(l)*19/20]
		if loud[c] > -100 {
			moves[c] = min(30, loud[c]-max(soft, -100))
		}
		most = max(most, moves[c])
	}
	w := make([]float64, channels)
	gain := 1.0
	for c := range w {
		if most > 0 && moves[c] >= most/2 {
			w[c] = gain * math.Pow(10, -(loud[c]+20)/20)
			gain *= 0.8
		}
	}
	if most == 0 {
		w[0] = 1
	}
	return w, nil
}

// readApart sets x to n samples of each channel from a frame on, fewer at the
// end.
func (t *syncTrack) readApart(ctx context.Context, from int64, n int, x [][]float64) error {
	for c := range x {
		x[c] = x[c][:0]
	}
	if err := t.seek(from); err != nil {
		return err
	}
	for len(x[0]) < n {
		_, b, err := t.next(ctx)
		if errors.Is(err, io.EOF) {
			t.at = -1
			return nil
		}
		if err != nil {
			return err
		}
		for c := range min(len(x), len(b)) {
			x[c] = append(x[c], b[c][:min(len(b[c]), n-len(x[c]))]...)
		}
	}
	return nil
}

// appendLevels adds the level in dB of each n samples, after a difference
// that takes the weight off hum and rumble.
func appendLevels(dst, x []float64, n int) []float64 {
	for at := 1; at+n <= len(x); at += n {
		var e float64
		for i := at; i < at+n; i++ {
			d := x[i] - x[i-1]
			e += d * d
		}
		if !(e <= math.MaxFloat64) { // no numbers among them
			e = 0
		}
		dst = append(dst, 10*math.Log10(e/float64(n)+1e-15))
	}
	return dst
}
