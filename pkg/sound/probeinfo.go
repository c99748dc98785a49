package sound

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/timecode"
)

// mediaTrack is one audio stream of a file that is joined into the whole.
type mediaTrack struct {
	index, channels int
	start           int64 // µs on the file's own clock
}

// mediaInfo is what a probed file holds, and how to decode it.
type mediaInfo struct {
	info   Info
	tracks []mediaTrack
	// container is ffprobe's name for the kind of file.
	container string
	// start is where frame 0 lies after the first thing in the file, in µs.
	start int64
	// origin is the same on the file's own clock.
	origin int64
	// guessed tells that the length is an estimate from the bit rate, or not
	// written at all (Frames 0).
	guessed bool
}

// describe turns what ffprobe says into Info. Streams of another rate than
// the first, and those that ffmpeg has no decoder for, are left out with a
// note.
func (p *probed) describe(path string) (*mediaInfo, error) {
	m := &mediaInfo{container: p.Format.Name, info: Info{Container: p.container(path), Float: true, Bits: 32}}
	var used []probedStream
	unknown := ""
	for _, s := range p.Streams {
		if s.Type != "audio" {
			continue
		}
		rate, _ := strconv.Atoi(s.SampleRate)
		why := ""
		switch {
		case s.Codec == "" || s.Codec == "none" || s.Codec == "unknown" || s.Channels < 1 || rate < 1 || rate > maxSampleRate:
			unknown = fmt.Sprintf("its sound is packed in a way that this ffmpeg doesn't know (%q)", s.CodecTag)
			why = "not a kind that this ffmpeg decodes"
		case len(used) > 0 && rate != m.info.SampleRate:
			why = fmt.Sprintf("it has %d Hz, the first one %d", rate, m.info.SampleRate)
		case m.info.Channels+s.Channels > maxChannels:
			why = fmt.Sprintf("more than %d channels", maxChannels)
			unknown = "its sound has " + why
		}
		if why != "" {
			m.note("audio stream %d left out: %s", s.Index, why)
			continue
		}
		used = append(used, s)
		m.info.SampleRate = rate
		m.info.Channels += s.Channels
	}
	switch {
	case len(used) == 0 && unknown != "":
		return nil, notMedia(path, unknown)
	case len(used) == 0:
		return nil, &FileError{Name: path, Offset: -1, Err: ErrNoSound, Problem: "it holds " + p.kinds(), Hint: "nothing to hear: take the recorder's files"}
	}
	m.lay(p, used)
	m.provenance(p, used)
	return m, nil
}

func (m *mediaInfo) note(text string, args ...any) {
	m.info.Notes = append(m.info.Notes, fmt.Sprintf(text, args...))
}

// kinds lists what a file without sound has.
func (p *probed) kinds() string {
	var out []string
	for _, s := range p.Streams {
		if s.Type != "" && !slices.Contains(out, s.Type) {
			out = append(out, s.Type)
		}
	}
	if len(out) == 0 {
		return "no streams"
	}
	return strings.Join(out, ", ") + " only"
}

// lay settles codec, bits, the place of each stream and the length.
func (m *mediaInfo) lay(p *probed, used []probedStream) {
	first, _ := micros(p.Format.StartTime)
	var codecs []string
	for i, s := range used {
		if !slices.Contains(codecs, s.Codec) {
			codecs = append(codecs, s.Codec)
		}
		bits, _ := strconv.Atoi(s.BitsRaw)
		if bits == 0 {
			bits = s.Bits
		}
		if bits <= 0 || bits > 32 {
			bits = 32
		}
		m.info.ValidBits = max(m.info.ValidBits, bits)
		at, ok := micros(s.StartTime)
		if !ok {
			at = first
		}
		if i == 0 || at < m.origin {
			m.origin = at
		}
		m.tracks = append(m.tracks, mediaTrack{s.Index, s.Channels, at})
	}
	m.info.Codec = strings.Join(codecs, "+")
	m.start = max(0, m.origin-first)
	for i, s := range used {
		late := perSample(m.tracks[i].start-m.origin, m.info.SampleRate)
		m.info.Frames = max(m.info.Frames, late+s.frames(m.info.SampleRate))
	}
	if m.info.Frames == 0 {
		us, _ := micros(p.Format.Duration)
		m.info.Frames = perSample(us, m.info.SampleRate)
	}
	switch p.Format.Name {
	case "mp3", "aac":
		m.guessed = true
	}
	m.guessed = m.guessed || m.info.Frames <= 0
}

// maxClaim is the longest claim that is believed, in µs or samples: years.
const maxClaim = 1 << 48

// perSample turns µs into samples, to the nearest.
func perSample(us int64, rate int) int64 {
	us = max(-maxClaim, min(us, maxClaim))
	return int64(timecode.Ticks(us).Scale(int64(rate), 1_000_000, timecode.Nearest))
}

// frames is the length that a stream claims, 0 if it doesn't say.
func (s *probedStream) frames(rate int) int64 {
	num, den, ok := ratio(s.TimeBase)
	if !ok || s.DurationTS <= 0 || num > 1<<31 {
		return 0
	}
	n := int64(timecode.Ticks(s.DurationTS).Scale(num*int64(rate), den, timecode.Nearest))
	if n < 0 || n > maxClaim {
		return 0
	}
	return n
}

// provenance takes over what the file says of its origin.
func (m *mediaInfo) provenance(p *probed, used []probedStream) {
	prod := &Production{StartSamples: -1}
	prod.Tape = p.tag("reel_name", "tape", "com.apple.proapps.reel")
	for _, s := range used {
		for range s.Channels {
			prod.TrackNames = append(prod.TrackNames, s.Tags.get("title"))
		}
	}
	if strings.Join(prod.TrackNames, "") == "" {
		prod.TrackNames = nil
	}
	m.clock(p, prod)
	bc := &Broadcast{}
	var words []string
	for _, k := range []string{"title", "description", "comment"} {
		if v := p.Format.Tags.get(k); v != "" && !slices.Contains(words, v) {
			words = append(words, v)
		}
	}
	bc.Description = strings.Join(words, "; ")
	bc.Date, bc.Time = dateAndTime(p.tag("creation_time", "modification_date"))
	if prod.StartSamples >= 0 {
		bc.TimeReference = uint64(prod.StartSamples)
	}
	if *bc != (Broadcast{}) {
		m.info.Broadcast = bc
	}
	if prod.Tape != "" || prod.TrackNames != nil || prod.Base.Rate.Known() || prod.StartSamples >= 0 {
		m.info.Production = prod
	}
}

// tag looks for the first of some names, in the file and then its streams.
func (p *probed) tag(names ...string) string {
	for _, n := range names {
		if v := p.Format.Tags.get(n); v != "" {
			return v
		}
		for _, s := range p.Streams {
			if v := s.Tags.get(n); v != "" {
				return v
			}
		}
	}
	return ""
}

// dateAndTime splits "2031-09-14T10:00:12.000000Z".
func dateAndTime(s string) (date, clock string) {
	if len(s) < 19 || s[4] != '-' || s[7] != '-' || (s[10] != 'T' && s[10] != ' ') || s[13] != ':' || s[16] != ':' {
		return "", ""
	}
	return s[:10], s[11:19]
}
