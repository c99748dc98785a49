package index

import (
	"context"
	"errors"
	"fmt"
	"os"

	bleveindex "github.com/blevesearch/bleve_index_api"
	bolterrors "go.etcd.io/bbolt/errors"

	"rushlight/pkg/story"
)

// Index is one generation, open for searching. It stays as it is, whatever
// writers do, until Close. Not for use by several goroutines at once.
type Index struct {
	idx    bleveindex.Index
	reader bleveindex.IndexReader
	cols   *columns
	lists  lists
	stems  stemmers
	path   string
	order  []uint32 // documents in the order of reels; see byRank
	docs   int      // how many documents there are, with those taken out
	// Bank and State tell what the generation has seen.
	Bank  string
	State int64
}

// Query is one search. See Search for what Text may hold.
type Query struct {
	Text string
	// Limit is how many hits are wanted, after Offset: 0 means 20, less than
	// 0 all of them.
	Limit, Offset int
	// Counts asks for the counts by speaker, reel and theme.
	Counts bool
	// Smooth ranks by what is said around a quote too: words next to each
	// other are wanted, not demanded, and quotes near those with the words
	// are hits as well.
	Smooth bool
	// Wide looks for synonyms too; see Result.Widened. Thesauri are folders
	// with thesaurus files for it (see mythes.go); not needed for English.
	Wide     bool
	Thesauri []string
	// Loose is Smooth only where all words together are found less than 20
	// times; the hits that have them all come first.
	Loose bool
	// Fold puts hits that say nearly the same under the best telling of them:
	// Limit and Offset then count what is not folded. The best 2,000 hits are
	// compared; those after them are never folded.
	Fold bool
	// Best, if not nil, is told the hits that will be shown before they are
	// counted and their marks are found.
	Best func([]story.Code)
}

// defaultLimit is the number of hits when none is asked for: a screenful.
const defaultLimit = 20

// Mark is a stretch of bytes of a quote's text to highlight.
type Mark struct{ Start, End int }

// Hit is one quote that a search found.
type Hit struct {
	Code  story.Code
	Score float64
	// Marks are in order and don't overlap; none where the query has only
	// fields.
	Marks []Mark
	// Folded holds the hits that say nearly the same, best first.
	Folded []story.Code
}

// Count is how many hits share a speaker, a reel or a theme.
type Count struct {
	Name  string
	Count int
}

// Result is what a search found.
type Result struct {
	// Understood is the query as it was understood, for people.
	Understood string
	// Total is the number of all hits.
	Total int
	Hits  []Hit
	// Counts over all hits, most first, ties by name; "strong" is not among
	// the themes, and hits without a speaker are under "".
	Speakers, Reels, Themes []Count
	// Missing holds the words of the query that no quote has in any form, as
	// typed: those to offer near spellings for.
	Missing []string
	// Smoothed tells that Smooth had something to do: a query of fewer than
	// two words is searched as it stands.
	Smoothed bool
	// Loosens tells of a query without hits that Loose might find some.
	Loosens bool
	// Widened holds the words that Wide added.
	Widened []string
	// NotWidened holds the languages of the bank that no synonyms are known
	// for; only where Wide was asked for.
	NotWidened []string
}

// Open opens the last complete generation in dir for reading. It waits for
// no writer. ErrNone if there is no usable one; the caller closes the index.
func Open(dir string) (*Index, error) {
	var last error
	for range 10 {
		path, s, err := latest(dir)
		if err != nil {
			return nil, fmt.Errorf("open index: %w", err)
		}
		i, err := open(path, s)
		if err == nil {
			return i, nil
		}
		if errors.Is(err, os.ErrPermission) || errors.Is(err, bolterrors.ErrTimeout) {
			return nil, fmt.Errorf("open index: %s: %w", path, err)
		}
		if !errors.Is(err, os.ErrNotExist) {
			return nil, fmt.Errorf("open index: %s: %w: %w", path, ErrDamaged, err)
		}
		last = err // removed since it was listed: a newer one is there
		if again, _, err := latest(dir); err == nil && again == path {
			return nil, fmt.Errorf("open index: %w: %w", ErrDamaged, last)
		}
	}
	return nil, fmt.Errorf("open index: %w", last)
}

func open(path string, s seen) (*Index, error) {
	i := &Index{path: path, Bank: s.Bank, State: s.State}
	var err error
	if i.idx, err = openScorch(path); err != nil {
		return nil, err
	}
	if i.reader, err = i.idx.Reader(); err == nil {
		i.lists = newLists(i.reader)
		i.cols, err = openColumns(path + string(os.PathSeparator) + columnsName)
	}
	if err == nil {
		err = i.whole()
	}
	if err != nil {
		_ = i.Close()
		return nil, err
	}
	return i, nil
}

// whole makes sure that both halves of a generation hold the same quotes: the
// library passes over segments that it can't read and opens what is left.
func (i *Index) whole() error {
	n, err := i.reader.DocCount()
	if err != nil {
		return err
	}
	if n != uint64(i.cols.live) {
		return fmt.Errorf("%d quotes of %d can be read: %w", n, i.cols.live, ErrDamaged)
	}
	// Behind the last document of the columns all were taken out.
	i.docs = max(i.cols.docs, i.lists.docs())
	return nil
}

// Close gives the generation free.
func (i *Index) Close() error {
	var errs []error
	if i.cols != nil {
		errs = append(errs, i.cols.close())
	}
	if i.reader != nil {
		errs = append(errs, i.reader.Close())
	}
	if i.idx != nil {
		errs = append(errs, i.idx.Close())
	}
	i.cols, i.lists, i.reader, i.idx = nil, nil, nil, nil
	return errors.Join(errs...)
}

// Quotes is the number of quotes in the index.
func (i *Index) Quotes() int { return i.cols.live }

// Search finds the quotes that a query asks for, best first.
//
// Words next to each other are all wanted (AND), in any inflected form of the
// languages in the bank. OR, AND and NOT in capitals, or - before a word,
// join; parentheses group. "Words in quotation marks" stand together exactly
// as typed, stop words and all; one word in quotation marks is meant in that
// form only. bell* finds what starts so, bell~ and bell~2 what is spelt
// within one or two letters of it. Fields narrow down: speaker:ines
// theme:bell reel:D2-INT2 reel:D2* rating:4 rating:>=4 rating:3-5 rating:none
// day:D2 strong:yes has:note language:en code:KRTWHC; a value with spaces
// stands in quotation marks. Case and accents never matter.
//
// A query that can't be read gives a *QueryError that says where and why.
func (i *Index) Search(ctx context.Context, q Query) (res Result, err error) {
	defer caught(&err)
	a, err := i.asked(ctx, q)
	if err != nil {
		return Result{}, err
	}
	p, err := a.page(q)
	if err != nil {
		return Result{}, err
	}
	codes := make([]story.Code, len(p.best))
	for k, h := range p.best {
		codes[k] = i.cols.code(h.doc)
	}
	if q.Best != nil {
		q.Best(codes)
	}
	res = Result{
		Understood: a.e.understood(a.n), Total: p.total, Missing: a.e.missing,
		Widened: a.e.widened, Smoothed: a.smoothed,
	}
	if p.total == 0 && !a.smoothed {
		wanted, _ := a.e.loosen(a.n)
		res.Loosens = len(wanted) > 0
	}
	if q.Wide {
		res.NotWidened = a.e.notWidened()
	}
	if q.Counts {
		if err := i.count(a.e, p.docs, &res); err != nil {
			return Result{}, err
		}
	}
	marks, err := a.e.marks(a.n, p.best)
	if err != nil {
		return Result{}, err
	}
	res.Hits = make([]Hit, 0, len(p.best))
	for k, h := range p.best {
		res.Hits = append(res.Hits, Hit{Code: codes[k], Score: float64(h.score), Marks: marks[k]})
		if p.under != nil {
			res.Hits[k].Folded = p.under[k]
		}
	}
	return res, nil
}

// caught makes ErrDamaged of a fault of reading: files that don't make sense
// may lead anywhere, and to check all of them takes longer than most searches.
func caught(err *error) {
	if p := recover(); p != nil {
		*err = fmt.Errorf("search: %v: %w", p, ErrDamaged)
	}
}

// All gives the code of every hit of a query, in the order of reels.
func (i *Index) All(ctx context.Context, text string) (codes []story.Code, err error) {
	defer caught(&err)
	n, err := parse(text)
	if err != nil {
		return nil, err
	}
	found, err := i.evaluator(ctx).run(n)
	if err != nil {
		return nil, err
	}
	i.inOrder(found)
	codes = make([]story.Code, len(found.docs))
	for k, d := range found.docs {
		codes[k] = i.cols.code(d)
	}
	return codes, nil
}
