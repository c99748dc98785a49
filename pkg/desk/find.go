package desk

import (
	"context"
	"encoding/json"
	"errors"
	"path/filepath"
	"strings"

	"rushlight/index"
	"rushlight/pkg/bank"
	"rushlight/pkg/story"
)

// FindOptions are one search.
type FindOptions struct {
	Query string
	// Limit is how many hits are shown after Offset; less than 0 is all.
	Limit, Offset int
	// Around asks for so many quotes before and after each hit.
	Around int
	// Wide looks for synonyms too, Loose ranks by what is said around a quote
	// where few have all the words, Fold puts tellings of one story under the
	// best.
	Wide, Loose, Fold bool
	thesauri          []string // folders
}

// systemThesauri are where Linux keeps thesaurus files for all users.
var systemThesauri = []string{"/usr/share/mythes", "/usr/local/share/mythes"}

func (o Options) thesauri() []string {
	if o.Thesauri != "" {
		return filepath.SplitList(o.Thesauri)
	}
	return systemThesauri
}

// Count is how many hits share a name.
type Count struct {
	Name  string `json:"name"`
	Count int    `json:"count"`
}

// Hit is one quote that was found. Marks are stretches of bytes of its text.
type Hit struct {
	Quote         story.Quote
	Marks         []Mark
	Before, After []story.Quote
	// Folded are other tellings of the same.
	Folded []story.Code
	// Picture is where it is seen, nil where no camera was lined up.
	Picture *Picture
	// Tags says who set each theme, when and how; for a quote shown alone.
	Tags []story.Tagging
}

// Mark is a stretch of bytes of a text to highlight.
type Mark struct {
	Start int `json:"start"`
	End   int `json:"end"`
}

// MarshalJSON is the quote's own form with "marks", and with "before" and
// "after" where they were asked for.
func (h Hit) MarshalJSON() ([]byte, error) {
	q, err := json.Marshal(h.Quote)
	if err != nil {
		return nil, err
	}
	marks := h.Marks
	if marks == nil {
		marks = []Mark{}
	}
	rest, err := json.Marshal(struct {
		Marks   []Mark          `json:"marks"`
		Before  []story.Quote   `json:"before,omitempty"`
		After   []story.Quote   `json:"after,omitempty"`
		Folded  []story.Code    `json:"folded,omitempty"`
		Picture *Picture        `json:"picture,omitempty"`
		Tags    []story.Tagging `json:"tags,omitempty"`
	}{marks, h.Before, h.After, h.Folded, h.Picture, h.Tags})
	if err != nil {
		return nil, err
	}
	return append(append(q[:len(q)-1], ','), rest[1:]...), nil
}

// Near offers spellings that do occur for a word that doesn't.
type Near struct {
	Word  string   `json:"word"`
	Spelt []string `json:"spelt"`
}

// Found is what a search found, best first.
type Found struct {
	Query      string `json:"query"`
	Understood string `json:"understood"`
	Total      int    `json:"total"`
	Offset     int    `json:"offset,omitempty"`
	Hits       []Hit  `json:"hits"`
	// Speakers, Reels and Themes count all hits, not only those shown.
	Speakers []Count `json:"speakers"`
	Reels    []Count `json:"reels"`
	Themes   []Count `json:"themes"`
	Near     []Near  `json:"near,omitempty"`
	// Refreshed tells that the index had to be brought up to date first,
	// Stale that it couldn't be because somebody else is writing it.
	Refreshed bool `json:"index_refreshed,omitempty"`
	Stale     bool `json:"index_stale,omitempty"`
	// Widened are the synonyms that were looked for too, NotWidened the
	// languages that have none; Smoothed tells that what is said around
	// counted.
	Widened    []string `json:"widened,omitempty"`
	NotWidened []string `json:"not_widened,omitempty"`
	Smoothed   bool     `json:"smoothed,omitempty"`
	// Loosens tells that nothing was found but Loose might find something.
	Loosens bool `json:"-"`
	// Quotes is how many quotes were searched.
	Quotes int `json:"quotes"`
}

// Find opens the bank, searches its quotes and shows what was found while it
// closes it. Bank and index are opened side by side.
func Find(ctx context.Context, opt Options, find FindOptions, show func(Found) error) error {
	dir, err := opt.dir()
	if err != nil {
		return err
	}
	find.thesauri = opt.thesauri()
	s := begin(ctx, filepath.Join(dir, indexName), nil, find)
	d, err := OpenToRead(ctx, opt)
	if err != nil {
		<-s.done
		return err
	}
	f, err := d.find(ctx, find, s)
	closed := make(chan error)
	go func() { closed <- d.Close() }()
	if err == nil {
		err = show(f)
	}
	if closeErr := <-closed; err == nil {
		err = closeErr
	}
	return err
}

// Find searches the quotes.
func (d *Desk) Find(ctx context.Context, opt FindOptions) (Found, error) {
	opt.thesauri = d.opt.thesauri()
	return d.find(ctx, opt, begin(ctx, d.indexDir(), nil, opt))
}

// search is a search that runs beside other work, with the index to itself.
type search struct {
	// bank and state are those that the index has seen, set when opened is
	// closed; "" if the index can't be opened.
	bank   string
	state  int64
	opened chan struct{}
	// best gives the hits that will be shown as soon as they are known.
	best chan []story.Code
	// The rest is set when done is closed, and the index closed.
	done   chan struct{}
	res    index.Result
	near   []Near
	quotes int
	err    error
}

// begin begins a search in the index in dir, or in ix if that is not nil.
func begin(ctx context.Context, dir string, ix *index.Index, opt FindOptions) *search {
	s := &search{opened: make(chan struct{}), best: make(chan []story.Code, 1), done: make(chan struct{})}
	go func() {
		defer close(s.done)
		defer close(s.best)
		if ix == nil {
			ix, s.err = index.Open(dir)
		}
		if s.err == nil {
			s.bank, s.state = ix.Bank, ix.State
		}
		close(s.opened)
		if s.err == nil {
			s.err = errors.Join(s.run(ctx, ix, opt), ix.Close())
		}
	}()
	return s
}

func (s *search) run(ctx context.Context, ix *index.Index, opt FindOptions) (err error) {
	s.quotes = ix.Quotes()
	s.res, err = ix.Search(ctx, index.Query{
		Text: opt.Query, Limit: opt.Limit, Offset: opt.Offset, Counts: true, Wide: opt.Wide, Thesauri: opt.thesauri, Loose: opt.Loose, Fold: opt.Fold,
		Best: func(codes []story.Code) { s.best <- codes },
	})
	if err != nil {
		return queryError(err)
	}
	for _, word := range s.res.Missing {
		near, err := ix.Near(ctx, word, 5)
		if err != nil {
			return err
		}
		s.near = append(s.near, Near{Word: word, Spelt: append([]string{}, near...)})
	}
	return nil
}

// find gathers what a search finds; the search is done again if its index
// isn't at the bank's state.
func (d *Desk) find(ctx context.Context, opt FindOptions, s *search) (Found, error) {
	f, err := d.searched(ctx, opt, s)
	if !errors.Is(err, index.ErrDamaged) {
		return f, err
	}
	// The index only shadows the bank: it is made anew.
	state, err := d.bank.State(ctx)
	if err == nil {
		err = d.rebuild(ctx, state)
	}
	if err != nil {
		return f, err
	}
	f, err = d.searched(ctx, opt, begin(ctx, d.indexDir(), nil, opt))
	f.Refreshed = true
	return f, err
}

func (d *Desk) searched(ctx context.Context, opt FindOptions, s *search) (Found, error) {
	f := Found{Query: opt.Query, Offset: opt.Offset}
	state, err := d.bank.State(ctx)
	if err != nil {
		<-s.done
		return f, err
	}
	if <-s.opened; s.bank != d.bank.ID() || s.state != state {
		<-s.done
		ix, err := d.openIndex(ctx, &f)
		if err != nil {
			return f, err
		}
		s = begin(ctx, "", ix, opt)
	}
	// The quotes are read while the hits are counted.
	var codes []story.Code
	select {
	case codes = <-s.best:
	default:
		if err := d.bank.Prepare(ctx, opt.Limit); err != nil {
			<-s.done
			return f, err
		}
		codes = <-s.best
	}
	list, listErr := d.bank.Present(ctx, codes)
	if <-s.done; s.err != nil {
		return f, s.err
	}
	if listErr != nil {
		return f, listErr
	}
	f.Understood, f.Total, f.Quotes, f.Near = s.res.Understood, s.res.Total, s.quotes, s.near
	f.Widened, f.NotWidened, f.Smoothed, f.Loosens = s.res.Widened, s.res.NotWidened, s.res.Smoothed, s.res.Loosens
	f.Speakers, f.Reels, f.Themes = counts(s.res.Speakers), counts(s.res.Reels), counts(s.res.Themes)
	return f, d.show(ctx, &f, s.res.Hits, list, opt.Around)
}

// openIndex opens the index at the bank's state; f is told what it took.
func (d *Desk) openIndex(ctx context.Context, f *Found) (*index.Index, error) {
	state, err := d.bank.State(ctx)
	if err != nil {
		return nil, err
	}
	ix, err := index.Open(d.indexDir())
	if err == nil && ix.Bank == d.bank.ID() && ix.State == state {
		return ix, nil
	}
	if err == nil {
		ix.Close()
	} else if !errors.Is(err, index.ErrNone) && !errors.Is(err, index.ErrDamaged) {
		return nil, err
	}
	if errors.Is(err, index.ErrDamaged) {
		// It only shadows the bank: it is made anew.
		f.Refreshed, err = true, d.rebuild(ctx, state)
	} else {
		f.Refreshed, err = d.update(ctx)
	}
	if errors.Is(err, index.ErrBusy) {
		f.Refreshed, f.Stale, err = false, true, nil
	}
	if err != nil {
		return nil, &Problem{What: "the index can't be brought up to date", Hint: "check who may write to " + d.indexDir() + "; the folder may be removed, nothing is lost with it", Err: err}
	}
	return index.Open(d.indexDir())
}

// show puts hits into what was found; those whose quotes are gone don't count.
func (d *Desk) show(ctx context.Context, f *Found, found []index.Hit, quotes []story.Quote, around int) (err error) {
	f.Hits, err = d.hitsOf(ctx, found, quotes, around)
	f.Total -= len(found) - len(f.Hits)
	return err
}

// hits fetches the quotes of hits from the bank. A quote that left the bank
// since the index was read is left out.
func (d *Desk) hits(ctx context.Context, found []index.Hit, around int) ([]Hit, error) {
	codes := make([]story.Code, len(found))
	for i, h := range found {
		codes[i] = h.Code
	}
	qs, err := d.bank.Present(ctx, codes)
	if err != nil {
		return nil, err
	}
	return d.hitsOf(ctx, found, qs, around)
}

// hitsOf joins hits with their quotes, as far as they are there.
func (d *Desk) hitsOf(ctx context.Context, found []index.Hit, quotes []story.Quote, around int) (out []Hit, err error) {
	at := make(map[story.Code]index.Hit, len(found))
	for _, h := range found {
		at[h.Code] = h
	}
	out = make([]Hit, 0, len(quotes))
	for _, q := range quotes {
		h := Hit{Quote: q, Folded: at[q.Code].Folded}
		for _, m := range at[q.Code].Marks {
			// The words may have changed since too.
			if m.End <= len(q.Text) {
				h.Marks = append(h.Marks, Mark(m))
			}
		}
		if around > 0 {
			h.Before, h.After, err = d.bank.Around(ctx, q.Code, around)
			if errors.Is(err, bank.ErrNotFound) {
				continue // gone by now
			}
			if err != nil {
				return nil, err
			}
		}
		out = append(out, h)
	}
	return out, nil
}

func counts(in []index.Count) []Count {
	out := make([]Count, len(in))
	for i, c := range in {
		out[i] = Count{Name: c.Name, Count: c.Count}
	}
	return out
}

// queryError makes an unreadable query a wrong call with its hint.
func queryError(err error) error {
	var q *index.QueryError
	if errors.As(err, &q) {
		return &Problem{What: strings.TrimSuffix(err.Error(), "; "+q.Hint), Hint: q.Hint, Kind: ErrUsage}
	}
	return err
}

// Show gives quotes by code with their neighbours.
func (d *Desk) Show(ctx context.Context, codes []story.Code, around int) ([]Hit, error) {
	if _, err := d.quotes(ctx, codes); err != nil {
		return nil, err
	}
	found := make([]index.Hit, len(codes))
	for i, c := range codes {
		found[i].Code = c
	}
	list, err := d.hits(ctx, found, around)
	if err != nil {
		return nil, err
	}
	for i, h := range list {
		if list[i].Picture, err = d.picture(ctx, h.Quote.Reel, h.Quote.Span); err != nil {
			return nil, err
		}
		if list[i].Tags, err = d.bank.Tags(ctx, h.Quote.Code); err != nil {
			return nil, err
		}
	}
	return list, nil
}
