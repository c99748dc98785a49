package listen

import (
	"math"

	"rushlight/pkg/sound"
	"rushlight/pkg/timecode"
)

// faultFinder holds an ear for each channel and what compares them.
type faultFinder struct {
	rate     int64
	frames   int64
	names    []string
	ears     []*faultEar
	polarity *faultPolarity
	soft     faultStretch
	fft      *spectrum
	window   []float64 // Hann
	tapered  []float64
	slowAt   int64 // first low-rate sample of the next window
}

const (
	faultWindow = 2048            // low-rate samples, about 1 s
	faultHop    = faultWindow / 4 // a power spectrum each quarter second
	faultLowHz  = 2000            // the low rate is this or a little more
)

func newFaultFinder(info sound.Info, opt FaultOptions) *faultFinder {
	f := &faultFinder{
		rate: int64(info.SampleRate), names: opt.TrackNames,
		fft: newSpectrum(faultWindow), window: make([]float64, faultWindow), tapered: make([]float64, faultWindow),
	}
	for i := range f.window {
		f.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/faultWindow)
	}
	by := max(1, info.SampleRate/faultLowHz)
	taps := faultLowPass(by)
	for range info.Channels {
		f.ears = append(f.ears, newFaultEar(info, by, taps))
	}
	f.soft = newFaultStretch(info)
	f.polarity = newFaultPolarity(info.Channels, float64(info.SampleRate)/float64(by))
	return f
}

// feed takes a block of all channels.
func (f *faultFinder) feed(samples [][]float64) {
	// Small portions, so that buffers stay small and in the cache.
	const portion = 8192
	for at, n := 0, len(samples[0]); at < n; at += portion {
		end := min(n, at+portion)
		for c, e := range f.ears {
			e.feed(samples[c][at:end])
		}
		f.windows()
		f.stretch(f.frames+int64(end), false)
	}
	f.frames += int64(len(samples[0]))
}

// windows takes the spectra of all whole windows of the low-rate sound.
func (f *faultFinder) windows() {
	for len(f.ears[0].slow.out) >= faultWindow {
		for c, e := range f.ears {
			for i, v := range e.slow.out[:faultWindow] {
				f.tapered[i] = v * f.window[i]
			}
			f.fft.transform(f.tapered)
			e.spectrum(f.fft, f.slowAt)
			f.polarity.keep(c, f.fft)
			e.slow.out = e.slow.out[:copy(e.slow.out, e.slow.out[faultHop:])]
		}
		f.polarity.compare()
		f.slowAt += faultHop
	}
}

func (f *faultFinder) finish() {
	for _, e := range f.ears {
		e.finish()
	}
	f.stretch(f.frames, true)
	f.windows()
	for _, e := range f.ears {
		e.hum.finish()
	}
}

// span is samples as time.
func (f *faultFinder) span(from, to int64) timecode.Span {
	from, to = max(0, min(from, f.frames)), max(0, min(to, f.frames))
	return timecode.Span{In: timecode.FromSamples(from, int(f.rate)), Out: timecode.FromSamples(to, int(f.rate))}
}
