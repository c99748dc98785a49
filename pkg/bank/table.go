package bank

import (
	"fmt"
	"strings"

	"rushlight/pkg/story"
)

// table is what the journal must know of a table: every change of a row goes
// through one. Key columns are text, or whole numbers written as text.
type table struct {
	name string
	key  []string
	cols []string
	// added holds the columns that a migration added, with the value that
	// rows from before it have; images in the journal may lack them.
	added map[string]any
}

// keySep stands between the parts of a row's key; no name may hold it.
const keySep = "\x00"

// tables lists the journalled tables.
func tables() []*table {
	return []*table{
		tableFilm, tableRecording, tableHeard, tableEnvelope, tableQuote, tableMark,
		tableTheme, tableAbout, tableNest, tableTag, tableRefusal, tableRetired, tableSelects, tableItem, tableSync,
		tableApart, tableUnmeasured, tableCompared,
	}
}

func tableNamed(name string) (*table, error) {
	for _, t := range tables() {
		if t.name == name {
			return t, nil
		}
	}
	return nil, fmt.Errorf("%w: the journal names an unknown table %q", ErrDamaged, name)
}

// The journalled tables, columns in the order that the code uses.
var (
	tableFilm = &table{name: "film", key: []string{"id"}, cols: []string{"title", "note", "rate_num", "rate_den", "drop_frame"}}

	tableRecording = &table{name: "recording", key: []string{"key"}, cols: []string{
		"reel", "essence", "path", "bytes", "modified", "duration", "sample_rate", "channels", "encoding",
		"track_names", "rate_num", "rate_den", "drop_frame", "start", "day", "scene", "take", "tape",
		"description", "originator", "note", "markers", "unfinished", "language",
		"tr_path", "tr_digest", "tr_format", "tr_encoding", "tr_bytes", "tr_modified",
	}}
	tableHeard    = &table{name: "heard", key: []string{"reel"}, cols: []string{"version", "duration", "speech", "body"}}
	tableEnvelope = &table{name: "envelope", key: []string{"reel"}, cols: []string{"body"}}
	tableQuote    = &table{name: "quote", key: []string{"code"}, cols: []string{
		"reel", "ord", "speaker", "tin", "tout", "text", "language", "words", "in_by", "out_by",
	}}
	tableMark  = &table{name: "mark", key: []string{"code"}, cols: []string{"rating", "note"}}
	tableTheme = &table{name: "theme", key: []string{"key"}, cols: []string{"name"}}
	// What is said of a theme, and which theme it belongs under: a row only
	// where there is something. They are not columns of theme so that saying
	// it doesn't touch the quotes, and two people can at the same time.
	tableAbout = &table{name: "about", key: []string{"theme"}, cols: []string{"statement", "rule"}}
	tableNest  = &table{name: "nest", key: []string{"theme"}, cols: []string{"parent"}}
	// In form 1 a tag had only its key. Who set it then is in the journal.
	tableTag = &table{
		name: "tag", key: []string{"code", "theme"}, cols: []string{"who", "at", "how"},
		added: map[string]any{"who": "", "at": "", "how": string(story.ByHand)},
	}
	tableRefusal = &table{name: "refusal", key: []string{"code", "theme"}, cols: []string{"who", "at"}}
	tableRetired = &table{name: "retired", key: []string{"code"}, cols: []string{
		"reel", "rate_num", "rate_den", "drop_frame", "start", "speaker", "tin", "tout", "text",
	}}
	tableSelects = &table{name: "selects", key: []string{"key"}, cols: []string{"name", "target", "next_id"}}
	tableItem    = &table{name: "item", key: []string{"selects", "id"}, cols: []string{"pos", "code", "trimmed", "tin", "tout", "note"}}
	tableSync    = &table{name: "sync", key: []string{"picture", "sound"}, cols: []string{
		"shift", "drift_ppb", "confidence", "told_by", "timecode", "apart",
	}}
)

// where is the condition that picks one row.
func (t *table) where() string { return strings.Join(t.key, "=? AND ") + "=?" }

func (t *table) selectSQL() string {
	cols := "1"
	if len(t.cols) > 0 {
		cols = strings.Join(t.cols, ",")
	}
	return "SELECT " + cols + " FROM " + t.name + " WHERE " + t.where()
}

// targets makes room for a row that selectSQL reads: its values, and where
// Scan puts them.
func (t *table) targets() (vals, into []any) {
	vals = make([]any, max(len(t.cols), 1))
	for i := range vals {
		into = append(into, &vals[i])
	}
	return vals, into
}

func (t *table) insertSQL() string {
	n := len(t.key) + len(t.cols)
	return "INSERT INTO " + t.name + " (" + strings.Join(append(t.key[:len(t.key):len(t.key)], t.cols...), ",") +
		") VALUES (?" + strings.Repeat(",?", n-1) + ")"
}

func (t *table) updateSQL() string {
	return "UPDATE " + t.name + " SET " + strings.Join(t.cols, "=?,") + "=? WHERE " + t.where()
}

func (t *table) deleteSQL() string { return "DELETE FROM " + t.name + " WHERE " + t.where() }

// image packs the columns that are not the key, with their names, so that a
// later form of the table can still take it. A value is a whole number, a
// text or a blob; blobs in vals are then those in the image, so that a large
// one is not there twice.
func (t *table) image(vals []any) ([]byte, error) {
	size := 256
	for _, v := range vals {
		if blob, ok := v.([]byte); ok {
			size += len(blob)
		}
	}
	w := writer{b: make([]byte, 0, size)}
	w.uint(uint64(len(t.cols)))
	for i, c := range t.cols {
		w.string(c)
		switch v := vals[i].(type) {
		case int64:
			w.b = append(w.b, 'i')
			w.int(v)
		case string:
			w.b = append(w.b, 't')
			w.string(v)
		case []byte:
			w.b = append(w.b, 'b')
			w.uint(uint64(len(v)))
			w.b = append(w.b, v...)
			vals[i] = w.b[len(w.b)-len(v) : len(w.b) : len(w.b)]
		default:
			return nil, fmt.Errorf("%w: %s.%s holds a %T", ErrDamaged, t.name, c, v)
		}
	}
	return w.b, nil
}

// values unpacks an image into the columns that the table has now.
func (t *table) values(image []byte) ([]any, error) {
	vals := make([]any, len(t.cols))
	for i, c := range t.cols {
		vals[i] = t.added[c]
	}
	err := eachColumn(image, func(name string, v any) {
		for i, c := range t.cols {
			if c == name {
				vals[i] = v
			}
		}
	})
	return vals, err
}

// eachColumn walks through an image.
func eachColumn(image []byte, f func(name string, v any)) error {
	s := scanner{b: image}
	for range s.count() {
		name := s.string()
		switch kind := s.bytes(1); {
		case kind == nil:
		case kind[0] == 'i':
			f(name, s.int())
		case kind[0] == 't':
			f(name, s.string())
		case kind[0] == 'b':
			f(name, append([]byte{}, s.bytes(s.uint())...))
		default:
			s.bad, s.b = true, nil
		}
	}
	return s.end("a row in the journal")
}

// rowKey is the key of a row as one text.
func rowKey(parts ...string) string { return strings.Join(parts, keySep) }
