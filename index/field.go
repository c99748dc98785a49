package index

import (
	bleveindex "github.com/blevesearch/bleve_index_api"
)

// termField is a field of a document whose terms are known before bleve asks
// for them. It implements bleve's Field.
type termField struct {
	name    string
	options bleveindex.FieldIndexingOptions
	value   []byte // only where stored
	length  int
	terms   bleveindex.TokenFrequencies
}

func (f *termField) Name() string                                          { return f.name }
func (f *termField) Value() []byte                                         { return f.value }
func (f *termField) ArrayPositions() []uint64                              { return nil }
func (f *termField) EncodedFieldType() byte                                { return 't' }
func (f *termField) Analyze()                                              {}
func (f *termField) Options() bleveindex.FieldIndexingOptions              { return f.options }
func (f *termField) AnalyzedLength() int                                   { return f.length }
func (f *termField) AnalyzedTokenFrequencies() bleveindex.TokenFrequencies { return f.terms }
func (f *termField) NumPlainTextBytes() uint64                             { return 0 }

// quoteDoc is a quote as bleve takes it. It implements bleve's Document; the
// sizes that only bleve's statistics ask for are left at 0.
type quoteDoc struct {
	id     string
	said   termField
	facts  termField
	ident  termField
	once   bleveindex.TokenFreq
	withID bool
}

func newQuoteDoc() *quoteDoc {
	d := &quoteDoc{
		said: termField{
			name: fieldSaid, options: bleveindex.IndexField | bleveindex.IncludeTermVectors,
			terms: bleveindex.TokenFrequencies{},
		},
		facts: termField{name: fieldFacts, options: bleveindex.IndexField | bleveindex.SkipFreqNorm},
		ident: termField{
			name: fieldID, options: bleveindex.IndexField | bleveindex.StoreField,
			length: 1, terms: bleveindex.TokenFrequencies{},
		},
	}
	d.once.SetFrequency(1)
	return d
}

// start makes the document that of a quote without words or facts yet.
func (d *quoteDoc) start(id string) {
	d.id, d.withID = id, false
	d.ident.value = append(d.ident.value[:0], id...)
	clear(d.ident.terms)
	d.ident.terms[id] = &d.once
	clear(d.said.terms)
	d.said.length = 0
}

func (d *quoteDoc) ID() string                                      { return d.id }
func (d *quoteDoc) Size() int                                       { return 0 }
func (d *quoteDoc) VisitComposite(bleveindex.CompositeFieldVisitor) {}
func (d *quoteDoc) HasComposite() bool                              { return false }
func (d *quoteDoc) NumPlainTextBytes() uint64                       { return 0 }
func (d *quoteDoc) AddIDField()                                     { d.withID = true }
func (d *quoteDoc) StoredFieldsBytes() uint64                       { return 0 }
func (d *quoteDoc) Indexed() bool                                   { return false }

// VisitFields implements bleve's Document.
func (d *quoteDoc) VisitFields(visit bleveindex.FieldVisitor) {
	visit(&d.said)
	visit(&d.facts)
	if d.withID {
		visit(&d.ident)
	}
}

// occurrence is what bleve keeps of a term's first place in a document, and
// of each further place.
type occurrence struct {
	freq  bleveindex.TokenFreq
	place bleveindex.TokenLocation
	first [1]*bleveindex.TokenLocation
}

// add adds a place of a term; in is the memory for it. bleve takes the term
// from the key.
func (d *quoteDoc) add(term string, w word, position int, in *occurrence) {
	in.place = bleveindex.TokenLocation{Start: w.start, End: w.end, Position: position}
	d.said.length++
	if f := d.said.terms[term]; f != nil {
		f.Locations = append(f.Locations, &in.place)
		f.SetFrequency(f.Frequency() + 1)
		return
	}
	in.first[0] = &in.place
	in.freq = bleveindex.TokenFreq{Locations: in.first[:]}
	in.freq.SetFrequency(1)
	d.said.terms[term] = &in.freq
}

// docPool holds the documents of one batch and their memory, which the next
// batch uses again: building makes next to no garbage so.
type docPool struct {
	docs   []*quoteDoc
	used   int
	blocks [][]occurrence
	taken  int
}

const poolBlock = 4096

// reset gives all documents back: bleve must be done with them.
func (p *docPool) reset() { p.used, p.taken = 0, 0 }

func (p *docPool) doc(id string) *quoteDoc {
	if p.used == len(p.docs) {
		p.docs = append(p.docs, newQuoteDoc())
	}
	d := p.docs[p.used]
	p.used++
	d.start(id)
	return d
}

func (p *docPool) occurrence() *occurrence {
	block := p.taken / poolBlock
	if block == len(p.blocks) {
		p.blocks = append(p.blocks, make([]occurrence, poolBlock))
	}
	o := &p.blocks[block][p.taken%poolBlock]
	p.taken++
	return o
}
