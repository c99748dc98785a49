package timedtext

import (
	"html"
	"regexp"
	"slices"
	"strings"

	"rushlight/pkg/timecode"
)

// vttNode is one node of a cue's text: W3C WebVTT section 6.4, "cue text
// parsing rules". The root has no name; text and timestamps have no children.
type vttNode struct {
	name       string // c i b u ruby rt v lang; "" for text; "<>" for a time
	classes    []string
	annotation string
	text       string
	time       timecode.Ticks
	children   []*vttNode
}

// vttTree parses the text of a cue.
func vttTree(s string) *vttNode {
	// No tag can have this name.
	root := &vttNode{name: "\x00"}
	stack := []*vttNode{root}
	for s != "" {
		top := stack[len(stack)-1]
		if s[0] != '<' {
			i := strings.IndexByte(s, '<')
			if i < 0 {
				i = len(s)
			}
			text := s[:i]
			if strings.IndexByte(text, '&') >= 0 {
				text = html.UnescapeString(text)
			}
			top.children = append(top.children, &vttNode{text: text})
			s = s[i:]
			continue
		}
		body := s[1:]
		if i := strings.IndexByte(body, '>'); i >= 0 {
			body, s = body[:i], body[i+1:]
		} else {
			s = ""
		}
		stack = vttTag(stack, body)
	}
	return root
}

// vttTag applies what stood between < and > to the stack of open nodes.
func vttTag(stack []*vttNode, body string) []*vttNode {
	top := stack[len(stack)-1]
	if end, ok := strings.CutPrefix(body, "/"); ok {
		switch {
		case end == top.name:
			return stack[:len(stack)-1]
		case end == "ruby" && top.name == "rt":
			return stack[:len(stack)-2]
		}
		return stack
	}
	if body != "" && isDigit(body[0]) {
		if t, rest, ok := vttTime(body); ok && rest == "" {
			top.children = append(top.children, &vttNode{name: "<>", time: t})
		}
		return stack
	}
	// The tree is walked by calls of itself: no deeper than that.
	if len(stack) > maxDepth {
		return stack
	}
	tag, annotation := body, ""
	if i := strings.IndexAny(body, " \t\n\f"); i >= 0 {
		tag, annotation = body[:i], html.UnescapeString(body[i+1:])
	}
	parts := strings.Split(tag, ".")
	n := &vttNode{name: parts[0], annotation: strings.Join(strings.FieldsFunc(annotation, func(r rune) bool { return strings.ContainsRune(" \t\n\f\r", r) }), " ")}
	for _, c := range parts[1:] {
		if c != "" {
			n.classes = append(n.classes, c)
		}
	}
	switch n.name {
	case "c", "i", "b", "u", "ruby", "v", "lang":
	case "rt":
		if top.name != "ruby" {
			return stack
		}
	default:
		return stack
	}
	top.children = append(top.children, n)
	return append(stack, n)
}

// vttComma is a time inside a cue with a decimal comma.
var vttComma = regexp.MustCompile(`<((?:\d+:)?\d\d:\d\d),(\d{3})>`)

// vttLines makes lines of the text of a cue that begins at a line of the file.
func (rd *reader) vttLines(s string, in timecode.Ticks, line int) []Line {
	if !strings.ContainsAny(s, "<&") && strings.IndexByte(s, '\n') < 0 {
		if s == "" {
			return nil
		}
		return Text(s)
	}
	if strings.IndexByte(s, ',') >= 0 && vttComma.MatchString(s) {
		s = vttComma.ReplaceAllString(s, "<$1.$2>")
		rd.repairOnce(line, "times with decimal commas: read as decimal points")
	}
	b := newRuns()
	b.walk(vttTree(s))
	return b.done(in)
}

func (b *runs) walk(n *vttNode) {
	style, speaker := b.style, b.speaker
	switch n.name {
	case "":
		b.add(n.text)
	case "<>":
		b.time(n.time)
	case "i":
		b.style.Italic = true
	case "b":
		b.style.Bold = true
	case "u":
		b.style.Underline = true
	case "v":
		b.speaker = n.annotation
	}
	for _, c := range n.classes {
		if slices.Contains(colourNames, c) {
			b.style.Colour = c
		}
	}
	for _, c := range n.children {
		b.walk(c)
	}
	b.style, b.speaker = style, speaker
}
