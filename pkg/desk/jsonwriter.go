package desk

import (
	"bufio"
	"encoding/json"
)

// jsonWriter writes one JSON object field by field and its lists item by
// item. The first error stays and ends the writing.
type jsonWriter struct {
	w     *bufio.Writer
	begun bool
	err   error
}

func (w *jsonWriter) text(s string) {
	if w.err == nil {
		_, w.err = w.w.WriteString(s)
	}
}

func (w *jsonWriter) value(v any) {
	b, err := json.Marshal(v)
	if w.err == nil {
		w.err = err
	}
	w.text(string(b))
}

// key opens a field.
func (w *jsonWriter) key(name string) {
	if w.begun {
		w.text(",\n  ")
	} else {
		w.text("{\n  ")
	}
	w.begun = true
	w.value(name)
	w.text(": ")
}

func (w *jsonWriter) field(name string, v any) {
	w.key(name)
	w.value(v)
}

// list writes n items, each on a line of its own.
func (w *jsonWriter) list(name string, n int, item func(int) any) {
	w.key(name)
	w.text("[")
	for i := range n {
		if i > 0 {
			w.text(",")
		}
		w.text("\n    ")
		w.value(item(i))
	}
	if n > 0 {
		w.text("\n  ")
	}
	w.text("]")
}

// end closes the object.
func (w *jsonWriter) end() error {
	w.text("\n}\n")
	if w.err != nil {
		return w.err
	}
	return w.w.Flush()
}
