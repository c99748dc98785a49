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
	n, err := parse(q.Text)
	if err != nil {
		return answer{}, err
	}
	a := answer{e: i.evaluator(ctx), n: n}
	if q.Wide {
		if a.e.synonyms, err = synonyms(); err != nil {
			return answer{}, err
		}
	}
	if err := a.e.resolve(n); err != nil {
		return answer{}, err
	}
	if q.Smooth {
		a.found, a.smoothed, err = a.e.smooth(n)
	}
	if err != nil || a.smoothed {
		return a, err
	}
	if a.found, err = a.e.eval(n, nil); err != nil {
		return a, err
	}
	if q.Loose && !q.Smooth && len(a.found.docs) < defaultLimit {
		err = a.loosen()
	}
	return a, err
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

// page gives limit hits from offset on, best first; with fold also, for each,
// the codes that are folded under it.
func (i *Index) page(found hits, offset, limit int, fold bool) ([]ranked, [][]story.Code) {
	if !fold {
		return i.best(found, offset, limit), nil
	}
	groups := i.fold(i.best(found, 0, foldLook+min(offset+limit, len(found.docs))))
	groups = groups[min(offset, len(groups)):]
	groups = groups[:min(limit, len(groups))]
	best := make([]ranked, len(groups))
	under := make([][]story.Code, len(groups))
	for k, g := range groups {
		best[k], under[k] = g.ranked, g.under
	}
	return best, under
}
