package index

import "context"

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
	if err == nil && !a.smoothed {
		a.found, err = a.e.eval(n, nil)
	}
	return a, err
}
