package timedtext

import (
	"bufio"
	"encoding/json"
	"errors"
	"io"
	"slices"
)

// mostOdd is how many lines of a file of JSON Lines may be no JSON.
const mostOdd = 50

// jsonValues reads the values of a file: one, or several one after the other
// (JSON Lines). One of several that is no JSON is left out with its line.
func (rd *reader) jsonValues(r io.Reader) ([]any, error) {
	counter := &lineCounter{r: r}
	dec := json.NewDecoder(counter)
	dec.UseNumber()
	var out []any
	skipped := int64(0) // bytes before the decoder's own
	for odd := 0; ; {
		var v any
		err := dec.Decode(&v)
		var syntax *json.SyntaxError
		var pe *ParseError
		switch {
		case err == nil:
			out = append(out, v)
			continue
		case errors.Is(err, io.EOF) && len(out) > 0:
			return out, nil
		case errors.As(err, &syntax) && len(out) > 0, errors.Is(err, io.ErrUnexpectedEOF) && len(out) > 0:
			if odd++; odd > mostOdd {
				rd.repair(counter.line(skipped), "what follows is no JSON: left out")
				return out, nil
			}
			rest := bufio.NewReader(io.MultiReader(dec.Buffered(), counter))
			lost, err := skipLine(rest)
			skipped += dec.InputOffset() + lost
			rd.repair(counter.line(skipped-1), "text that is no JSON after the end of a value: left out")
			if errors.Is(err, io.EOF) {
				return out, nil
			}
			if err != nil {
				return nil, err
			}
			dec = json.NewDecoder(rest)
			dec.UseNumber()
			continue
		case errors.As(err, &pe), errors.Is(err, ErrTooLarge):
			return nil, err
		case errors.As(err, &syntax):
			return nil, rd.fail(counter.line(syntax.Offset), "export the transcript again", "JSON not well formed: %v", syntax)
		case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
			return nil, rd.fail(counter.line(dec.InputOffset()), "export the transcript again", "JSON cut off: got the end of the file, want the rest")
		}
		return nil, err
	}
}

// skipLine passes over white space and the line after it.
func skipLine(r *bufio.Reader) (n int64, err error) {
	for text := false; ; {
		c, err := r.ReadByte()
		if err != nil {
			return n, err
		}
		n++
		if c == '\n' && text {
			return n, nil
		}
		text = text || c > ' '
	}
}

// lineCounter remembers where lines end, so that an offset has a line.
type lineCounter struct {
	r    io.Reader
	at   int64
	ends []int64
}

func (c *lineCounter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	for i, b := range p[:n] {
		if b == '\n' {
			c.ends = append(c.ends, c.at+int64(i))
		}
	}
	c.at += int64(n)
	return n, err
}

func (c *lineCounter) line(off int64) int {
	i, _ := slices.BinarySearch(c.ends, off)
	return i + 1
}
