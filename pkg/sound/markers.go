package sound

import (
	"encoding/binary"
	"slices"
	"strings"
)

// cue is one entry of the cue chunk.
type cue struct {
	id    uint32
	frame int64
}

// labels are the texts that an adtl list hangs on one cue.
type labels struct{ label, note, text string }

// takeCues reads the cue chunk: a count, then 24 bytes for each point (id,
// position, chunk, chunk start, block start, sample offset).
func (l *layout) takeCues(body int64, b []byte) error {
	if len(b) < 4 {
		l.note(body-8, "cue chunk of %d bytes, want 4 or more: left out", len(b))
		return nil
	}
	le := binary.LittleEndian
	claimed, there := int64(le.Uint32(b)), int64(len(b)-4)/24
	if claimed > there {
		l.note(body, "cue chunk claims %d points, has room for %d", claimed, there)
	}
	for i := range min(claimed, there) {
		e := b[4+24*i:]
		l.cues = append(l.cues, cue{id: le.Uint32(e), frame: int64(le.Uint32(e[20:]))})
	}
	return nil
}

// takeList reads the labels of a LIST chunk of type adtl; other lists (INFO)
// say nothing that the bank uses.
func (l *layout) takeList(body int64, b []byte) error {
	if len(b) < 4 || string(b[:4]) != "adtl" {
		return nil
	}
	le := binary.LittleEndian
	for at := 4; at+12 <= len(b); {
		id, claimed := string(b[at:at+4]), int64(le.Uint32(b[at+4:]))
		size := min(claimed, int64(len(b)-at-8))
		if size < claimed {
			l.note(body+int64(at), "%q claims %d bytes, its list has %d", id, claimed, size)
		}
		l.takeLabel(id, b[at+8:at+8+int(size)])
		at += 8 + int(size+size%2)
	}
	return nil
}

func (l *layout) takeLabel(id string, b []byte) {
	if len(b) < 4 {
		return
	}
	at := binary.LittleEndian.Uint32(b)
	if l.labels == nil {
		l.labels = make(map[uint32]labels)
	}
	t := l.labels[at]
	switch {
	case id == "labl":
		t.label = plainText(b[4:])
	case id == "note":
		t.note = plainText(b[4:])
	case id == "ltxt" && len(b) > 20:
		t.text = plainText(b[20:])
	}
	l.labels[at] = t
}

// markers joins points and texts, in order of time. A point without any text
// has an empty label.
func (l *layout) markers() []Marker {
	var out []Marker
	late := 0
	for _, c := range l.cues {
		if c.frame > l.info.Frames {
			late++
			continue
		}
		t := l.labels[c.id]
		var parts []string
		for _, s := range []string{t.label, t.text, t.note} {
			if s != "" && !slices.Contains(parts, s) {
				parts = append(parts, s)
			}
		}
		out = append(out, Marker{Frame: c.frame, Label: strings.Join(parts, "; ")})
	}
	if late > 0 {
		l.note(l.info.DataOffset, "%d markers beyond the end of the sound left out", late)
	}
	slices.SortStableFunc(out, func(a, b Marker) int {
		switch {
		case a.Frame < b.Frame:
			return -1
		case a.Frame > b.Frame:
			return 1
		}
		return 0
	})
	return out
}
