package index

import (
	"github.com/blevesearch/bleve/v2/document"
	bleveindex "github.com/blevesearch/bleve_index_api"

	"rushlight/pkg/story"
)

// fieldSketch holds, stored and not searched, the sketch of a quote: its
// telling words in order, each as two bytes. A sketch can't be read back as
// text, but two can be compared, and with the dictionary of the index the
// words of one are found again. It costs about 20 bytes a quote, where the
// words themselves would cost a hundred.
const fieldSketch = "sketch"

// sketch is the stems of a text in order, stop words left out, each as a
// 16-bit hash. Different words share a hash once in 65,536 pairs.
type sketch []uint16

// sketchHash is the two bytes of a stem: FNV-1a of 32 bits, its halves folded
// together as its authors recommend (recalled).
func sketchHash(stem string) uint16 {
	s := uint32(2166136261)
	for i := range len(stem) {
		s = (s ^ uint32(stem[i])) * 16777619
	}
	return uint16(s>>16) ^ uint16(s)
}

// isFiller tells sounds of hesitation and assent, which change with every
// telling. Common knowledge, no source.
func isFiller(stem string) bool {
	switch stem {
	case "uh", "um", "er", "erm", "ah", "oh", "eh", "hm", "hmm", "mm", "mmm", "mhm", "huh", "ahm", "euh":
		return true
	}
	return false
}

func (s sketch) bytes() []byte {
	out := make([]byte, 0, 2*len(s))
	for _, h := range s {
		out = append(out, byte(h), byte(h>>8))
	}
	return out
}

// sketchField is the field of a document that holds a sketch.
func sketchField(s sketch) document.Field {
	return document.NewTextFieldCustom(fieldSketch, nil, s.bytes(), bleveindex.StoreField, nil)
}

// sketch reads the sketch of a quote; nil if there is no such quote or it has
// no telling word.
func (i *Index) sketch(code story.Code) (sketch, error) {
	doc, err := i.reader.Document(string(code))
	if err != nil || doc == nil {
		return nil, err
	}
	var out sketch
	doc.VisitFields(func(f bleveindex.Field) {
		if f.Name() != fieldSketch {
			return
		}
		b := f.Value()
		for k := 0; k+1 < len(b); k += 2 {
			out = append(out, uint16(b[k])|uint16(b[k+1])<<8)
		}
	})
	return out, nil
}
