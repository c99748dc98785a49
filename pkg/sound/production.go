package sound

import (
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// takeProduction reads the iXML chunk (iXML specification 1.5 and later;
// element names recalled). Text that is no good XML gives a note and whatever
// stood before the fault.
func (l *layout) takeProduction(body int64, b []byte) error {
	if l.info.Production != nil {
		l.note(body-8, "another iXML chunk: left out, the first one is used")
		return nil
	}
	p := newProductionReader()
	if err := p.read(xmlText(b)); err != nil {
		l.note(body, "iXML is damaged: %v; read as far as it goes", err)
	}
	out, notes := p.production()
	for _, n := range notes {
		l.note(body, "iXML: %s", n)
	}
	l.info.Production = out
	l.stampRate, _ = strconv.Atoi(p.values["SPEED/TIMESTAMP_SAMPLE_RATE"])
	return nil
}

// xmlText makes UTF-8 of what recorders write: UTF-8 with or without BOM,
// UTF-16 with BOM, Latin-1; NULs at the end.
func xmlText(b []byte) []byte {
	if len(b) >= 2 && (b[0] == 0xFF && b[1] == 0xFE || b[0] == 0xFE && b[1] == 0xFF) {
		var order binary.ByteOrder = binary.LittleEndian
		if b[0] == 0xFE {
			order = binary.BigEndian
		}
		u := make([]uint16, 0, len(b)/2)
		for i := 2; i+1 < len(b); i += 2 {
			u = append(u, order.Uint16(b[i:]))
		}
		b = []byte(string(utf16.Decode(u)))
	}
	b = bytes.TrimPrefix(b, []byte("\xEF\xBB\xBF"))
	if i := bytes.IndexByte(b, 0); i >= 0 {
		b = b[:i]
	}
	if !utf8.Valid(b) {
		b = latin1(b)
	}
	return bytes.TrimSpace(b)
}

type track struct{ channel, interleave, name, function string }

// productionReader collects the text of the elements that the bank uses.
type productionReader struct {
	values map[string]string // by path below the root
	tracks []track
}

func newProductionReader() *productionReader {
	return &productionReader{values: make(map[string]string)}
}

const (
	maxXMLDepth = 32
	maxTracks   = 256
)

// read walks the elements. It knows paths, not a schema: unknown elements are
// passed over.
func (p *productionReader) read(b []byte) error {
	d := xml.NewDecoder(bytes.NewReader(b))
	d.Strict = false
	d.CharsetReader = func(_ string, r io.Reader) (io.Reader, error) { return r, nil }
	var path []string
	var text strings.Builder
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			if len(p.values) == 0 && len(p.tracks) == 0 {
				return errors.New("nothing in it")
			}
			return nil
		}
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.StartElement:
			path = append(path, strings.ToUpper(t.Name.Local))
			if len(path) > maxXMLDepth {
				return errors.New("nested too deeply")
			}
			text.Reset()
			if p.inTrack(path) && len(path) == 3 && len(p.tracks) < maxTracks {
				p.tracks = append(p.tracks, track{})
			}
		case xml.CharData:
			text.Write(t)
		case xml.EndElement:
			p.keep(path, strings.TrimSpace(text.String()))
			text.Reset()
			if len(path) > 0 {
				path = path[:len(path)-1]
			}
		}
	}
}

// inTrack tells whether the path is BWFXML/TRACK_LIST/TRACK or below.
func (p *productionReader) inTrack(path []string) bool {
	return len(path) >= 3 && path[1] == "TRACK_LIST" && path[2] == "TRACK"
}

func (p *productionReader) keep(path []string, text string) {
	if text == "" || len(path) < 2 {
		return
	}
	if p.inTrack(path) {
		if len(path) != 4 || len(p.tracks) == 0 {
			return
		}
		t := &p.tracks[len(p.tracks)-1]
		switch path[3] {
		case "CHANNEL_INDEX":
			t.channel = text
		case "INTERLEAVE_INDEX":
			t.interleave = text
		case "NAME":
			t.name = text
		case "FUNCTION":
			t.function = text
		}
		return
	}
	key := strings.Join(path[1:], "/")
	if _, seen := p.values[key]; !seen {
		p.values[key] = text
	}
}

// production makes the result and lines about values that made no sense.
func (p *productionReader) production() (*Production, []string) {
	var notes []string
	v := p.values
	out := &Production{
		Project: v["PROJECT"], Scene: v["SCENE"], Take: v["TAKE"], Tape: v["TAPE"],
		Note: v["NOTE"], UID: v["FILE_UID"], StartSamples: -1,
	}
	if s := v["SPEED/TIMECODE_RATE"]; s != "" {
		base, err := timecode.ParseBase(s)
		if err != nil {
			notes = append(notes, "timecode rate "+strconv.Quote(s)+" not understood")
		} else {
			base.Drop = strings.EqualFold(v["SPEED/TIMECODE_FLAG"], "DF")
			if base.Drop && base.Rate != timecode.Rate2997 && base.Rate != timecode.Rate5994 {
				notes = append(notes, "drop-frame at "+base.Rate.String()+" frames/s doesn't exist: left out")
				base.Drop = false
			}
			out.Base = base
		}
	}
	if lo, ok := v["SPEED/TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO"]; ok {
		n, err := sinceMidnight(v["SPEED/TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI"], lo)
		if err != nil {
			notes = append(notes, "time stamp "+strconv.Quote(lo)+" not understood")
		} else {
			out.StartSamples = n
		}
	}
	names, trouble := trackNames(p.tracks)
	out.TrackNames = names
	return out, append(notes, trouble...)
}

// settleProduction fits what iXML says to the format: one name for each
// channel, and a time stamp that counts at the file's own rate.
func (l *layout) settleProduction() {
	p := l.info.Production
	if p == nil {
		return
	}
	if len(p.TrackNames) > 0 {
		p.TrackNames = fit(p.TrackNames, l.info.Channels)
	}
	rate := l.info.SampleRate
	if p.StartSamples >= 0 && l.stampRate > 0 && l.stampRate != rate {
		l.note(l.info.DataOffset, "the iXML time stamp counts at %d Hz, the file has %d: converted", l.stampRate, rate)
		p.StartSamples = timecode.FromSamples(p.StartSamples, l.stampRate).Samples(rate, timecode.Nearest)
	}
}

// longestStamp is how many days after midnight a recording may begin: more
// than a shoot through several nights, less than what an unset field says.
const longestStamp = 10

// settleStamp takes no start from a file that can't be one, such as a field of
// ones that a recorder never set.
func (l *layout) settleStamp() {
	most := longestStamp * 24 * 3600 * int64(l.info.SampleRate)
	if b := l.info.Broadcast; b != nil && b.TimeReference > uint64(most) {
		l.note(l.bextAt, "a time reference of %d samples is more than %d days after midnight: taken as not set", b.TimeReference, longestStamp)
		b.TimeReference = 0
	}
	if p := l.info.Production; p != nil && p.StartSamples > most {
		l.note(l.info.DataOffset, "an iXML time stamp of %d samples is more than %d days after midnight: taken as not set", p.StartSamples, longestStamp)
		p.StartSamples = -1
	}
}

// fit makes a list exactly n long.
func fit(names []string, n int) []string {
	out := make([]string, n)
	copy(out, names)
	return out
}

// sinceMidnight joins the two 32-bit halves of the time stamp.
func sinceMidnight(hi, lo string) (int64, error) {
	if hi == "" {
		hi = "0"
	}
	h, err := strconv.ParseUint(hi, 10, 31)
	if err != nil {
		return 0, err
	}
	n, err := strconv.ParseUint(lo, 10, 64)
	if err != nil || n > 1<<62 || h > 1<<29 {
		return 0, strconv.ErrRange // no time of day, and the sum has room
	}
	return int64(h<<32 + n), nil
}

// trackNames puts names where their channel lies in the file: by
// INTERLEAVE_INDEX, which counts the file's channels from 1, else by
// CHANNEL_INDEX, which counts the recorder's inputs, else in order; also where
// some input is beyond the tracks there are, as when a recorder with many inputs
// armed two.
func trackNames(tracks []track) (names, notes []string) {
	place := func(s string) int {
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 || n > maxTracks {
			return 0
		}
		return n
	}
	inputs := true
	for _, t := range tracks {
		inputs = inputs && place(t.channel) <= len(tracks)
	}
	for i, t := range tracks {
		name := t.name
		if name == "" {
			name = t.function
		}
		at := place(t.interleave)
		if at == 0 && inputs {
			at = place(t.channel)
		}
		if at == 0 {
			at = i + 1
		}
		for len(names) < at {
			names = append(names, "")
		}
		if names[at-1] != "" && names[at-1] != name {
			notes = append(notes, "two tracks for channel "+strconv.Itoa(at)+": "+strconv.Quote(name)+" left out")
			continue
		}
		names[at-1] = name
	}
	return names, notes
}
