package sound

import (
	"strings"

	"rushlight/pkg/timecode"
)

// clock finds the time base and the time of day of frame 0. The label stands
// in the timecode track, or with the pictures, or in the file; it belongs to
// the first picture, so sound that begins later is later.
func (m *mediaInfo) clock(p *probed, prod *Production) {
	var picture, labels *probedStream
	for i := range p.Streams {
		s := &p.Streams[i]
		switch {
		case s.Type == "video" && s.Picture.Attached == 0 && picture == nil:
			picture = s
		case s.CodecTag == "tmcd" && labels == nil:
			labels = s
		}
	}
	label := ""
	if labels != nil {
		label = labels.Tags.get("timecode")
		prod.Base.Rate = rateOf(labels.MeanRate)
	}
	if picture != nil {
		if label == "" {
			label = picture.Tags.get("timecode")
		}
		if !prod.Base.Rate.Known() {
			prod.Base.Rate = rateOf(picture.RealRate)
		}
		if !prod.Base.Rate.Known() {
			prod.Base.Rate = rateOf(picture.MeanRate)
		}
	}
	if label == "" {
		label = p.tag("timecode")
	}
	late := int64(0)
	if first, ok := pictureStart(picture); ok {
		late = perSample(m.origin-first, m.info.SampleRate)
	}
	if label == "" {
		if late > 0 { // an editing room counts from the first picture
			prod.StartSamples = late
		}
		return
	}
	if !prod.Base.Rate.Known() {
		m.note("timecode %s left out: nothing says at how many frames a second", label)
		return
	}
	if strings.Contains(label, ";") {
		prod.Base.Drop = prod.Base.Rate == timecode.Rate2997 || prod.Base.Rate == timecode.Rate5994
		if !prod.Base.Drop {
			m.note("timecode %s is written as drop-frame, which %s frames/s doesn't have: read as it counts", label, prod.Base.Rate)
		}
	}
	frame, err := prod.Base.Frame(label)
	if err != nil {
		m.note("timecode %q left out: %v", label, err)
		return
	}
	prod.StartSamples = max(0, prod.Base.Rate.Ticks(frame).Samples(m.info.SampleRate, timecode.Nearest)+late)
}

func pictureStart(s *probedStream) (us int64, ok bool) {
	if s == nil {
		return 0, false
	}
	return micros(s.StartTime)
}

// rateOf reads a frame rate as ffprobe prints it. One within a ten-thousandth
// of a rate of the trade is that rate: containers round.
func rateOf(s string) timecode.Rate {
	num, den, ok := ratio(s)
	if !ok || num > 1<<30 || den > 1<<30 || num < den || num/den > 1000 {
		return timecode.Rate{}
	}
	for _, r := range []timecode.Rate{
		timecode.Rate23976, timecode.Rate24, timecode.Rate25, timecode.Rate2997, timecode.Rate30,
		timecode.Rate47952, timecode.Rate48, timecode.Rate50, timecode.Rate5994, timecode.Rate60,
		{Num: 100, Den: 1},
		{Num: 120000, Den: 1001},
		{Num: 120, Den: 1},
	} {
		if d := num*r.Den - r.Num*den; max(d, -d) <= r.Num*den/10_000 {
			return r
		}
	}
	return timecode.Rate{}
}
