package timedtext

import (
	"encoding/xml"
	"slices"
	"strings"
)

// docxKind is what a paragraph is by its style.
type docxKind int

const (
	docxText docxKind = iota
	docxHeading
	docxTitle
	docxNote
	docxSpeaker
)

// docxStyle is what a style says of slant, weight and kind; "" is not said.
type docxStyle struct {
	based        string
	bold, italic string // "on", "off"
	kind         docxKind
	lang         string
}

type docxStyles struct {
	byID map[string]docxStyle
	// normal is the style of paragraphs that name none.
	normal string
	lang   string
}

// of is a style with what it is based on.
func (s *docxStyles) of(id string) docxStyle {
	if id == "" {
		id = s.normal
	}
	out := s.byID[id]
	for n, at := 0, out; n < 16 && at.based != ""; n++ {
		at = s.byID[at.based]
		if out.bold == "" {
			out.bold = at.bold
		}
		if out.italic == "" {
			out.italic = at.italic
		}
		if out.kind == docxText {
			out.kind = at.kind
		}
		if out.lang == "" {
			out.lang = at.lang
		}
	}
	return out
}

// kindByName is what a style's name says of its paragraphs. Names of built-in
// styles are English in the file, whatever the program's language.
func kindByName(name string) docxKind {
	name = strings.ToLower(strings.TrimSpace(name))
	switch {
	case name == "title":
		return docxTitle
	case strings.HasPrefix(name, "heading"), strings.HasPrefix(name, "toc "), name == "subtitle":
		return docxHeading
	case slices.Contains(columnNames[colNote], plainName(name)):
		return docxNote
	case slices.Contains(columnNames[colSpeaker], plainName(name)):
		return docxSpeaker
	}
	return docxText
}

// styles reads the part of styles (ISO/IEC 29500-1 clause 17.7).
func (p *docxPackage) styles(name string) (*docxStyles, error) {
	if name == "" {
		name = "word/styles.xml"
	}
	s := &docxStyles{byID: map[string]docxStyle{}}
	id, open := "", docxStyle{}
	err := p.xml(name, func(dec *xml.Decoder, tok xml.Token) (bool, error) {
		switch tok := tok.(type) {
		case xml.StartElement:
			switch tok.Name.Local {
			case "style":
				id, open = attrOf(tok, "styleId"), docxStyle{}
				if on(attrOf(tok, "default"), false) && attrOf(tok, "type") == "paragraph" {
					s.normal = id
				}
			case "name":
				open.kind = kindByName(attrOf(tok, "val"))
			case "basedOn":
				open.based = attrOf(tok, "val")
			case "outlineLvl":
				if v := attrOf(tok, "val"); v != "9" && open.kind == docxText {
					open.kind = docxHeading
				}
			case "b", "i":
				say := "off"
				if on(attrOf(tok, "val"), true) {
					say = "on"
				}
				if tok.Name.Local == "b" {
					open.bold = say
				} else {
					open.italic = say
				}
			case "lang":
				if open.lang = attrOf(tok, "val"); id == "" {
					s.lang = open.lang
				}
			case "tblStylePr", "latentStyles":
				return true, dec.Skip()
			}
		case xml.EndElement:
			if tok.Name.Local == "style" {
				s.byID[id] = open
				id = ""
			}
		}
		return false, nil
	})
	return s, err
}

// on reads a switch (ISO/IEC 29500-1 clause 17.17.4): without a value it is
// on.
func on(v string, absent bool) bool {
	switch v {
	case "":
		return absent
	case "0", "false", "off", "none":
		return false
	}
	return true
}

// docxRun is what holds for the text of a run.
type docxRun struct {
	style  Style
	hidden bool
	lang   string
}

// run reads the properties of a run over what its paragraph has (clause
// 17.3.2). What they were before a tracked change is passed over.
func (b *docxBody) run(dec *xml.Decoder, r *docxRun, linked bool) error {
	return within(dec, func(s xml.StartElement) (bool, error) {
		v := attrOf(s, "val")
		switch s.Name.Local {
		case "rStyle":
			st := b.styles.of(v)
			r.style.Bold = st.bold == "on" || r.style.Bold && st.bold == ""
			r.style.Italic = st.italic == "on" || r.style.Italic && st.italic == ""
		case "b":
			r.style.Bold = on(v, true)
		case "i":
			r.style.Italic = on(v, true)
		case "u":
			r.style.Underline = v != "" && v != "none" && !linked
		case "color":
			// Black is what text has that nobody coloured.
			if c := colour("#" + v); c != "#000000" && !linked {
				r.style.Colour = c
			}
		case "vanish":
			r.hidden = on(v, true)
		case "lang":
			if v != "" {
				r.lang = v
			}
		case "rPrChange":
			return true, dec.Skip()
		}
		return false, nil
	})
}

// within gives each start inside the element that was just opened to take,
// and reads to its end. take tells whether it read the element to its end.
func within(dec *xml.Decoder, take func(xml.StartElement) (done bool, err error)) error {
	for depth := 1; depth > 0; {
		tok, err := dec.Token()
		if err != nil {
			return err
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			if depth++; depth > maxDepth {
				return errDeep
			}
			done, err := take(tok)
			if err != nil {
				return err
			}
			if done {
				depth--
			}
		case xml.EndElement:
			depth--
		}
	}
	return nil
}
