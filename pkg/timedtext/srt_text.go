package timedtext

import (
	"html"
	"strings"
	"unicode/utf8"
)

// srtText reads the markup that players of SRT understand: <i> <b> <u>
// <font color>, {\an8} and the like. Everything else is text.
type srtText struct {
	*runs
	reader   *reader
	open     []openTag
	settings map[string]string
}

type openTag struct {
	name   string
	before Style
}

func (p *srtText) line(s string, n int) {
	for s != "" {
		i := strings.IndexAny(s, "<{&")
		if i < 0 {
			p.add(s)
			return
		}
		p.add(s[:i])
		s = s[i:]
		size := 0
		switch s[0] {
		case '<':
			size = p.tag(s, n)
		case '{':
			size = p.override(s)
		case '&':
			var text string
			if text, size = entity(s); size > 0 {
				p.reader.repairOnce(n, "character references such as &amp; read as the characters")
				p.add(text)
			}
		}
		if size == 0 {
			p.add(s[:1])
			size = 1
		}
		s = s[size:]
	}
}

// tag reads <i>, </i>, <font color="…">; 0 means that it is text.
func (p *srtText) tag(s string, n int) int {
	end := 1 + strings.IndexAny(s[1:min(len(s), 200)], "<>")
	if end == 0 || s[end] == '<' {
		return 0
	}
	body := strings.ToLower(strings.TrimSpace(s[1:end]))
	closing := strings.HasPrefix(body, "/")
	body = strings.TrimSpace(strings.TrimPrefix(body, "/"))
	name, attrs, _ := strings.Cut(body, " ")
	switch name {
	case "br", "br/":
		p.add("\n")
		return end + 1
	case "i", "b", "u", "s", "em", "strong", "font":
	default:
		return 0
	}
	if name != "font" && attrs != "" {
		return 0
	}
	if closing {
		for k := len(p.open) - 1; k >= 0; k-- {
			if p.open[k].name == name {
				p.style = p.open[k].before
				p.open = p.open[:k]
				return end + 1
			}
		}
		p.reader.repair(n, "</%s> closes nothing: left out", name)
		return end + 1
	}
	p.open = append(p.open, openTag{name, p.style})
	switch name {
	case "i", "em":
		p.style.Italic = true
	case "b", "strong":
		p.style.Bold = true
	case "u":
		p.style.Underline = true
	case "font":
		if _, v, ok := strings.Cut(attrs, "color="); ok {
			v = strings.Trim(v, `"' `)
			if j := strings.IndexAny(v, `"' `); j >= 0 {
				v = v[:j]
			}
			p.style.Colour = colour(v)
		}
	}
	return end + 1
}

// override reads {\an8}, {\i1} and {b} style blocks; 0 means text.
func (p *srtText) override(s string) int {
	end := strings.IndexByte(s[:min(len(s), 400)], '}')
	if end < 0 || !strings.HasPrefix(s, `{\`) || strings.ContainsAny(s[:end], ` <>"'`) {
		return 0
	}
	for tag := range strings.SplitSeq(s[2:end], `\`) {
		switch tag {
		case "i1", "i0":
			p.style.Italic = tag == "i1"
		case "b1", "b0":
			p.style.Bold = tag == "b1"
		case "u1", "u0":
			p.style.Underline = tag == "u1"
		default:
			if v, ok := strings.CutPrefix(tag, "an"); ok && len(v) == 1 && v >= "1" && v <= "9" {
				if p.settings == nil {
					p.settings = map[string]string{}
				}
				p.settings["an"] = v
			}
		}
	}
	return end + 1
}

// entity reads one character reference at the front of s; size 0 means that
// there is none.
func entity(s string) (text string, size int) {
	end := strings.IndexByte(s[:min(len(s), 12)], ';')
	if end < 2 {
		return "", 0
	}
	name := s[1:end]
	if text, ok := entityNames[name]; ok {
		return text, end + 1
	}
	digits, ok := strings.CutPrefix(name, "#")
	if !ok {
		if text := html.UnescapeString(s[:end+1]); !strings.HasPrefix(text, "&") {
			return text, end + 1
		}
		return "", 0
	}
	base := 10
	if rest, hex := strings.CutPrefix(strings.ToLower(digits), "x"); hex {
		digits, base = rest, 16
	}
	r := rune(0)
	for i := range len(digits) {
		v := strings.IndexByte("0123456789abcdef", digits[i]|0x20)
		if isDigit(digits[i]) {
			v = int(digits[i] - '0')
		}
		if v < 0 || v >= base || r > utf8.MaxRune {
			return "", 0
		}
		r = r*rune(base) + rune(v)
	}
	if digits == "" || r == 0 || !utf8.ValidRune(r) || r < ' ' {
		return "", 0
	}
	return string(r), end + 1
}

var entityNames = map[string]string{
	"amp": "&", "lt": "<", "gt": ">", "quot": `"`, "apos": "'", "nbsp": "\u00a0",
	"lrm": "\u200e", "rlm": "\u200f", "hellip": "…", "mdash": "—", "ndash": "–",
	"lsquo": "‘", "rsquo": "’", "ldquo": "“", "rdquo": "”",
}
