package sound

import (
	"encoding/binary"
	"fmt"
)

// Limits on a believable recording.
const (
	maxChannels   = 64
	maxSampleRate = 3_072_000
)

const convertHint = "convert it: ffmpeg -i IN.wav -c:a pcm_s24le OUT.wav"

// Format tags (RFC 2361 and Microsoft's mmreg.h; recalled).
const (
	tagPCM        = 0x0001
	tagFloat      = 0x0003
	tagExtensible = 0xFFFE
)

// The last twelve bytes of the subformat GUIDs that carry a format tag in
// their first four: xxxxxxxx-0000-0010-8000-00AA00389B71 (Microsoft,
// WAVEFORMATEXTENSIBLE).
const guidTail = "\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71"

// The same for ambisonic B-format: xxxxxxxx-0721-11D3-8644-C8C1CA000000
// (Dobson 2000; recalled).
const guidAmbisonic = "\x21\x07\xD3\x11\x86\x44\xC8\xC1\xCA\x00\x00\x00"

// format is the fmt chunk, checked.
type format struct {
	float            bool
	channels, rate   int
	container, valid int // bits
	mask             uint32
}

// frameBytes is the size of one sample of all channels.
func (f format) frameBytes() int { return f.channels * f.container / 8 }

// takeFormat reads the fmt chunk: 16 bytes for PCM, 18 and more with an
// extension, 40 for WAVE_FORMAT_EXTENSIBLE.
func (l *layout) takeFormat(body int64, b []byte) error {
	if l.hasFormat {
		l.note(body-8, "another fmt chunk: left out, the first one is used")
		return nil
	}
	if len(b) < 14 {
		return l.fail(ErrTruncated, body, fmt.Sprintf("fmt chunk of %d bytes, want 16 or more", len(b)), "copy the file again from the card")
	}
	le := binary.LittleEndian
	tag := le.Uint16(b)
	f := format{channels: int(le.Uint16(b[2:])), rate: int(le.Uint32(b[4:]))}
	byteRate, align := int64(le.Uint32(b[8:])), int(le.Uint16(b[12:]))
	bits := 0
	if len(b) >= 16 {
		bits = int(le.Uint16(b[14:]))
	}
	f.valid = bits
	if tag == tagExtensible {
		var err error
		if tag, err = l.extensible(body, b, &f); err != nil {
			return err
		}
	}
	if err := l.believable(body, tag, f); err != nil {
		return err
	}
	f.float = tag == tagFloat
	if bits == 0 && align%f.channels == 0 {
		bits = align / f.channels * 8
		l.note(body+14, "0 bits per sample: %d taken from the block size", bits)
	}
	f.container = l.container(body, f, bits, align, byteRate)
	if f.valid <= 0 || f.valid > f.container {
		f.valid = min(max(bits, 1), f.container)
	}
	if !f.readable() {
		return l.fail(ErrFormat, body+14, fmt.Sprintf("%d-bit %s samples, want 8, 16, 24 or 32-bit integer, or 32 or 64-bit float", bits, f.kind()), convertHint)
	}
	l.format, l.hasFormat = f, true
	return nil
}

func (f format) kind() string {
	if f.float {
		return "float"
	}
	return "integer"
}

// readable tells whether decode has a loop for it.
func (f format) readable() bool {
	switch f.container {
	case 8, 16, 24:
		return !f.float
	case 32:
		return true
	case 64:
		return f.float
	}
	return false
}

// extensible reads valid bits, channel mask and the true format tag.
func (l *layout) extensible(body int64, b []byte, f *format) (uint16, error) {
	le := binary.LittleEndian
	if len(b) < 40 {
		l.note(body, "extensible fmt chunk of %d bytes, want 40: integer PCM assumed", len(b))
		return tagPCM, nil
	}
	if v := int(le.Uint16(b[18:])); v > 0 {
		f.valid = v
	}
	f.mask = le.Uint32(b[20:])
	tag := le.Uint32(b[24:])
	switch tail := string(b[28:40]); {
	case tail == guidTail && tag <= 0xFFFF:
		return uint16(tag), nil
	case tail == guidAmbisonic && (tag == tagPCM || tag == tagFloat):
		l.note(body+24, "ambisonic channels: read as they are")
		return uint16(tag), nil
	}
	return 0, l.fail(ErrFormat, body+24, fmt.Sprintf("unknown subformat %x", b[24:40]), convertHint)
}

// believable refuses what can't be read at all.
func (l *layout) believable(body int64, tag uint16, f format) error {
	if tag != tagPCM && tag != tagFloat {
		return l.fail(ErrFormat, body, fmt.Sprintf("compressed samples, format 0x%04X (%s), want PCM or float", tag, tagName(tag)), convertHint)
	}
	const again = "the header is damaged: copy the file again from the card"
	if f.channels < 1 || f.channels > maxChannels {
		return l.fail(ErrFormat, body+2, fmt.Sprintf("%d channels, want 1 to %d", f.channels, maxChannels), again)
	}
	if f.rate < 1 || f.rate > maxSampleRate {
		return l.fail(ErrFormat, body+4, fmt.Sprintf("sample rate %d Hz, want 1 to %d", f.rate, maxSampleRate), again)
	}
	return nil
}

// container is the size in bits of one stored sample. It follows from the
// bits per sample; the block size only counts where the byte rate agrees and
// 24 bits or fewer lie in 32.
func (l *layout) container(body int64, f format, bits, align int, byteRate int64) int {
	want := (bits + 7) / 8 * 8
	if align == want/8*f.channels {
		return want
	}
	if !f.float && bits > 16 && bits <= 24 && align == 4*f.channels && byteRate == int64(f.rate)*int64(align) {
		l.note(body+12, "%d-bit samples stored in 32 bits", bits)
		return 32
	}
	l.note(body+12, "block size %d, want %d for %d channels of %d bits: %d used", align, want/8*f.channels, f.channels, bits, want/8*f.channels)
	return want
}

// tagName names the compressed formats that people meet (RFC 2361; recalled).
func tagName(tag uint16) string {
	switch tag {
	case 0x0002:
		return "Microsoft ADPCM"
	case 0x0006:
		return "A-law"
	case 0x0007:
		return "mu-law"
	case 0x0011:
		return "IMA ADPCM"
	case 0x0031:
		return "GSM 6.10"
	case 0x0050:
		return "MPEG"
	case 0x0055:
		return "MP3"
	case 0x00FF, 0x1600, 0x1610:
		return "AAC"
	case 0x0161:
		return "WMA"
	case 0x0092, 0x2000:
		return "AC-3"
	case 0xF1AC:
		return "FLAC"
	}
	return "unknown"
}
