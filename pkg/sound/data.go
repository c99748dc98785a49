package sound

import (
	"encoding/binary"
	"fmt"
)

// takeData finds out where the sound ends. The size in the header is believed
// only as far as the file bears it out; a recorder that lost power leaves 0,
// 0xFFFFFFFF or the size it hoped for.
func (l *layout) takeData(body, claimed int64) (int64, error) {
	if l.hasData {
		l.note(body-8, "another data chunk, %d bytes: left out, the first one is used", min(claimed, l.size-body))
		if claimed > l.size-body {
			return -1, nil
		}
		return l.after("data", body, claimed)
	}
	l.hasData = true
	l.info.DataOffset = body
	rest := l.size - body
	size := claimed
	known := true
	if claimed == unknownSize {
		switch {
		case l.info.Container == "RIFF":
			known = false
		case l.hasDS64:
			size = clampSize(l.ds64.data)
		default:
			l.note(body-8, "%s file without a ds64 chunk", l.info.Container)
			known = false
		}
	}
	switch {
	case !known:
		l.unfinished(body, "the recording was never closed: its length is not written; %d bytes of sound taken", rest)
		size = rest
	case size == 0 && rest > 0 && !l.chunksTo(body):
		l.unfinished(body, "the recording was never closed: its length is written as 0; %d bytes of sound taken", rest)
		size = rest
	case size > rest:
		l.unfinished(body, "the header claims %d bytes of sound, the file has %d", size, rest)
		l.missing = size - rest
		size = rest
	default:
		size = l.unwrap(body, size)
		if more := rest - size; more > tailBytes && !l.chunkAt(body+size) {
			l.unfinished(body, "the recording was never closed: its length is written as %d bytes of sound; %d more follow that are no chunk, taken too", size, more)
			size = rest
		}
	}
	l.dataBytes = size
	if size == rest {
		return -1, nil
	}
	return l.after("data", body, size)
}

func (l *layout) unfinished(body int64, text string, args ...any) {
	l.info.Unfinished = true
	l.note(body-4, text, args...)
}

// unwrap finds the true size where a plain RIFF file grew beyond 4 GiB and
// its 32-bit size began again from 0: the chunk after the sound, or the end
// of the file, must then lie a multiple of 4 GiB further on.
func (l *layout) unwrap(body, size int64) int64 {
	if l.info.Container != "RIFF" || l.size-body <= 1<<32 || l.endsAt(body+size) {
		return size
	}
	for s := size + 1<<32; s <= l.size-body; s += 1 << 32 {
		if l.endsAt(body + s) {
			l.note(body-4, "the header's size %d lacks %d bytes: the file is longer than 4 GiB", size, s-size)
			return s
		}
	}
	return size
}

// endsAt tells whether a chunk can end at off: the file does, or a known
// chunk follows.
func (l *layout) endsAt(off int64) bool {
	if l.size-off < 8 {
		return l.size >= off
	}
	b, err := l.bytesAt(off, 5)
	return err == nil && (knownChunk(b[:4]) || b[0] == 0 && knownChunk(b[1:]))
}

// tailBytes is how much that is no chunk may stand behind the sound, as some
// tagging programs leave it; a recorder that lost power after it last wrote
// its header leaves more.
const tailBytes = 64 << 10

// chunkAt tells whether a chunk that fits into the file begins at off, or one
// that is known.
func (l *layout) chunkAt(off int64) bool {
	if l.endsAt(off) {
		return true
	}
	b, err := l.bytesAt(off, 9)
	if err != nil {
		return true // reading on will say so
	}
	for _, h := range [][]byte{b[:8], b[1:]} {
		if plausible(h[:4]) && int64(binary.LittleEndian.Uint32(h[4:])) <= l.size-off-8 {
			return true
		}
	}
	return false
}

// chunksTo tells whether known chunks and nothing else fill the file from off
// to its end.
func (l *layout) chunksTo(off int64) bool {
	for n := range maxChunks {
		if l.size-off < 8 {
			return n > 0
		}
		b, err := l.bytesAt(off, 8)
		if err != nil || !knownChunk(b[:4]) {
			return false
		}
		size := int64(binary.LittleEndian.Uint32(b[4:]))
		if size > l.size-off-8 {
			return false
		}
		off += 8 + size + size%2
	}
	return false
}

// complete holds what was found against what a recording needs.
func (l *layout) complete() error {
	switch {
	case !l.hasFormat && !l.hasData && l.size < 44:
		return l.fail(ErrTruncated, l.size, fmt.Sprintf("the header ends after %d bytes", l.size), "copy it again from the card")
	case !l.hasFormat:
		return l.fail(ErrFormat, 12, "no fmt chunk: nothing says how the samples are stored", "copy it again from the card")
	case !l.hasData:
		return l.fail(ErrTruncated, l.size, "the file ends before its sound data", "copy it again from the card")
	}
	f := l.format
	l.info.Float, l.info.Bits, l.info.ValidBits = f.float, f.container, f.valid
	l.info.Channels, l.info.SampleRate, l.info.ChannelMask = f.channels, f.rate, f.mask
	frame := int64(f.frameBytes())
	l.info.Frames = l.dataBytes / frame
	l.info.Missing = l.missing / frame
	if part := l.dataBytes % frame; part > 0 {
		l.note(l.info.DataOffset+l.dataBytes-part, "an unfinished last frame left out: %d of its %d bytes are there", part, frame)
	}
	if l.info.Frames == 0 {
		return l.fail(ErrEmpty, l.info.DataOffset, "a header, but no samples", "the recording may have failed: look at the card again")
	}
	l.settleProduction()
	l.settleStamp()
	return nil
}

// knownChunk tells whether four bytes name a chunk met in sound files.
func knownChunk(b []byte) bool {
	switch string(b[:4]) {
	case "data", "fmt ", "fact", "LIST", "JUNK", "junk", "PAD ", "FLLR", "bext", "iXML", "cue ", "ds64",
		"axml", "chna", "ubxt", "bxml", "sxml", "qlty", "mext", "levl", "link", "umid", "r64m", "cart",
		"smpl", "inst", "plst", "acid", "strc", "DISP", "id3 ", "ID3 ", "_PMX", "PEAK", "minf", "elm1", "regn", "afsp":
		return true
	}
	return false
}
