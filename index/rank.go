package index

import (
	"context"
	"slices"

	"rushlight/pkg/story"
)

// answer is a query that was evaluated.
type answer struct {
	e     *evaluator
	n     node
	found hits
	// smoothed tells that scores hold what is said around too.
	smoothed bool
}

// answer evaluates a query.
func (i *Index) answer(ctx context.Context, q Query) (answer, error) {
	a, err := i.asked(ctx, q)
	if err != nil {
		return answer{}, err
	}
	return a, a.find(q)
}

// asked reads a query and finds its terms.
func (i *Index) asked(ctx context.Context, q Query) (answer, error) {
	n, err := parse(q.Text)
	if err != nil {
		return answer{}, err
	}
	a := answer{e: i.evaluator(ctx), n: n}
	if q.Wide {
		if a.e.synonyms, err = i.thesauri(q.Thesauri); err != nil {
			return answer{}, err
		}
	}
	return a, a.e.resolve(n)
}

// find finds all hits.
func (a *answer) find(q Query) (err error) {
	if q.Smooth {
		a.found, a.smoothed, err = a.e.smooth(a.n)
	}
	if err != nil || a.smoothed {
		return err
	}
	if a.found, err = a.e.eval(a.n, nil); err != nil {
		return err
	}
	if q.Loose && !q.Smooth && len(a.found.docs) < defaultLimit {
		err = a.loosen()
	}
	return err
}

// loosen adds what smoothing finds after what has all the words.
func (a *answer) loosen() error {
	more, ok, err := a.e.smooth(a.n)
	if !ok || err != nil {
		return err
	}
	all := a.found
	for _, d := range all.docs {
		// A smoothed score is at most 1.
		if n, ok := slices.BinarySearch(more.docs, d); ok {
			more.scores[n]++
		}
	}
	rest := without(all.docs, more.docs)
	a.found = either(more, hits{rest, slices.Repeat([]float32{1}, len(rest))})
	a.smoothed = true
	return nil
}

// page is the part of all hits that is shown.
type page struct {
	total int
	best  []ranked
	// under holds, for each of best, the codes that are folded under it.
	under [][]story.Code
	// docs are all hits.
	docs set
}

// page finds the hits that are shown.
func (a *answer) page(q Query) (p page, err error) {
	i, offset, limit := a.e.i, max(q.Offset, 0), q.Limit
	if limit == 0 {
		limit = defaultLimit
	}
	if limit > 0 && offset+limit > 0 && !q.Smooth && !q.Loose && !q.Fold {
		best := i.top(offset + limit)
		p.docs, err = a.e.sweep(a.n, best)
		p.total, p.best = p.docs.count(), best.from(offset)
		return p, err
	}
	if err := a.find(q); err != nil {
		return page{}, err
	}
	p.docs, p.total = i.newSet(), len(a.found.docs)
	for _, d := range a.found.docs {
		p.docs.put(d)
	}
	if limit < 0 {
		limit = p.total
	}
	if !q.Fold {
		p.best = i.best(a.found, offset, limit)
		return p, nil
	}
	groups := i.fold(i.best(a.found, 0, foldLook+min(offset+limit, p.total)))
	groups = groups[min(offset, len(groups)):]
	for _, g := range groups[:min(limit, len(groups))] {
		p.best, p.under = append(p.best, g.ranked), append(p.under, g.under)
	}
	return p, nil
}
