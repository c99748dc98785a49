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
	withID bool
}

// What bleve does with each field.
const (
	optionsID    = bleveindex.IndexField | bleveindex.StoreField
	optionsFacts = bleveindex.IndexField | bleveindex.SkipFreqNorm
	optionsSaid  = bleveindex.IndexField | bleveindex.IncludeTermVectors
)

func newQuoteDoc(id string) *quoteDoc {
	once := &bleveindex.TokenFreq{Term: []byte(id)}
	once.SetFrequency(1)
	return &quoteDoc{
		id:    id,
		said:  termField{name: fieldSaid, options: optionsSaid, terms: bleveindex.TokenFrequencies{}},
		facts: termField{name: fieldFacts, options: optionsFacts},
		ident: termField{
			name: fieldID, options: optionsID, value: []byte(id),
			length: 1, terms: bleveindex.TokenFrequencies{id: once},
		},
	}
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

// occurrence is a term with room for its first place: most stand in a quote
// once.
type occurrence struct {
	freq  bleveindex.TokenFreq
	place bleveindex.TokenLocation
	list  [1]*bleveindex.TokenLocation
}

// add adds a place of a term; bleve takes the term from the key.
func (d *quoteDoc) add(term string, w word, position int) {
	f := d.said.terms[term]
	if f == nil {
		o := &occurrence{}
		f = &o.freq
		f.Locations = o.list[:0]
		d.said.terms[term] = f
		f.Locations = append(f.Locations, &o.place)
	} else {
		f.Locations = append(f.Locations, &bleveindex.TokenLocation{})
	}
	*f.Locations[len(f.Locations)-1] = bleveindex.TokenLocation{Start: w.start, End: w.end, Position: position}
	f.SetFrequency(f.Frequency() + 1)
}
