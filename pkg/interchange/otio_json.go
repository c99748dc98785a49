package interchange

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
)

// maxDocument is the largest document that is read, in bytes.
const maxDocument = 256 << 20

// otioNode is any object of a document, with the keys that are read.
type otioNode struct {
	Schema         string                     `json:"OTIO_SCHEMA"`
	Name           *string                    `json:"name"`
	Metadata       map[string]json.RawMessage `json:"metadata"`
	Range          *otioRange                 `json:"source_range"`
	Kind           string                     `json:"kind"`
	Children       []*otioNode                `json:"children"`
	Tracks         *otioNode                  `json:"tracks"`
	Start          *otioTime                  `json:"global_start_time"`
	Media          *otioMedium                `json:"media_reference"`
	MediaBy        map[string]*otioMedium     `json:"media_references"`
	Active         string                     `json:"active_media_reference_key"`
	Effects        []*otioEffectIn            `json:"effects"`
	Markers        []*otioMarkerIn            `json:"markers"`
	Enabled        *bool                      `json:"enabled"`
	TransitionType string                     `json:"transition_type"`
	In             *otioTime                  `json:"in_offset"`
	Out            *otioTime                  `json:"out_offset"`
}

type otioMedium struct {
	Schema    string     `json:"OTIO_SCHEMA"`
	Name      *string    `json:"name"`
	Available *otioRange `json:"available_range"`
	URL       string     `json:"target_url"`
	Generator string     `json:"generator_kind"`
}

type otioEffectIn struct {
	Schema string  `json:"OTIO_SCHEMA"`
	Scalar float64 `json:"time_scalar"`
}

// otioMarkerIn is a marker of any version: the place is range in the first,
// marked_range later; the colour a name, in the third an object.
type otioMarkerIn struct {
	Name     *string                    `json:"name"`
	Metadata map[string]json.RawMessage `json:"metadata"`
	Colour   json.RawMessage            `json:"color"`
	Marked   *otioRange                 `json:"marked_range"`
	Range    *otioRange                 `json:"range"`
}

// is tells whether the node is of a schema, of whatever version.
func (n *otioNode) is(name string) bool {
	have, _, _ := strings.Cut(n.Schema, ".")
	return have == name
}

// off tells whether a person switched a clip or track off: it is then neither
// heard nor seen.
func (n *otioNode) off() bool { return n.Enabled != nil && !*n.Enabled }

func text(s *string) string {
	if s == nil {
		return ""
	}
	return *s
}

// ours is the part of the metadata that this package wrote; a part that does
// not have our shape is passed over.
func oursIn(m map[string]json.RawMessage) ours {
	var o ours
	if raw, ok := m[ourKey]; ok && json.Unmarshal(raw, &o) != nil {
		return ours{}
	}
	return o
}

// decodeOTIO reads the document. The reference library writes infinities and
// NaN bare, which JSON does not know; they are read as null.
func decodeOTIO(r io.Reader, name string) (*otioNode, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxDocument+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > maxDocument {
		return nil, fmt.Errorf("%s: %w: larger than %d MiB", name, ErrFormat, maxDocument>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	nullNonNumbers(data)
	var n otioNode
	if err := json.Unmarshal(data, &n); err != nil {
		var syntax *json.SyntaxError
		var kind *json.UnmarshalTypeError
		offset := int64(0)
		switch {
		case errors.As(err, &syntax):
			offset = syntax.Offset
		case errors.As(err, &kind):
			offset = kind.Offset
		}
		line := 1 + bytes.Count(data[:min(offset, int64(len(data)))], []byte("\n"))
		return nil, fmt.Errorf("%s:%d: %w: %w; is this an OpenTimelineIO document?", name, line, ErrFormat, err)
	}
	return &n, nil
}

// nullNonNumbers writes null, padded with spaces to the same length, over
// NaN, Inf and Infinity, signed or not, outside strings.
func nullNonNumbers(data []byte) {
	inString := false
	for i := 0; i < len(data); i++ {
		switch c := data[i]; {
		case inString && c == '\\':
			i++
		case c == '"':
			inString = !inString
		case inString:
		case c == '-' || c == '+' || c == 'N' || c == 'I' || c == 'i' || c == 'n':
			i += nullAt(data[i:])
		}
	}
}

// nullAt does it at the start of data and tells how far to skip.
func nullAt(data []byte) int {
	sign := 0
	if data[0] == '-' || data[0] == '+' {
		sign = 1
	}
	for _, word := range []string{"Infinity", "infinity", "Inf", "inf", "NaN", "nan"} {
		n := sign + len(word)
		if len(data) < n || string(data[sign:n]) != word {
			continue
		}
		if n == 3 {
			data[0], data[1], data[2] = '0', ' ', ' ' // null has no room
			return n - 1
		}
		copy(data, "null")
		for i := len("null"); i < n; i++ {
			data[i] = ' '
		}
		return n - 1
	}
	return 0
}
