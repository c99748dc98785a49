package index

import (
	"cmp"
	"container/heap"
	"slices"
	"strings"

	"rushlight/pkg/story"
)

// ranked is a hit with its place in the order of reels.
type ranked struct {
	doc   uint32
	score float32
	rank  uint32
}

// better orders hits: higher score first, then by reel and place in it.
func better(a, b ranked) int {
	return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(a.rank, b.rank))
}

// worstFirst is a heap of the best hits so far, the worst of them on top.
type worstFirst []ranked

func (h worstFirst) Len() int           { return len(h) }
func (h worstFirst) Less(i, j int) bool { return better(h[i], h[j]) > 0 }
func (h worstFirst) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *worstFirst) Push(x any)        { *h = append(*h, x.(ranked)) }
func (h *worstFirst) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}

// best gives limit hits from offset on, best first.
func (i *Index) best(found hits, offset, limit int) []ranked {
	want := len(found.docs)
	if limit < want-offset {
		want = offset + limit
	}
	t := i.top(want)
	t.add(found)
	return t.from(offset)
}

// top keeps the best so many of all hits that it is given.
type top struct {
	want int
	heap worstFirst // a heap as soon as there are as many as wanted
	cols *columns
}

func (i *Index) top(want int) *top { return &top{want: want, cols: i.cols} }

func (t *top) add(found hits) {
	for k, d := range found.docs {
		if t.takes(found.scores[k]) {
			t.offer(d, found.scores[k])
		}
	}
}

// takes tells whether a hit with this score may be among the best so far.
func (t *top) takes(score float32) bool {
	return len(t.heap) < t.want || len(t.heap) > 0 && score >= t.heap[0].score
}

// least is the score from which on a hit may be among the best so far.
func (t *top) least() float32 {
	if len(t.heap) < t.want || t.want == 0 {
		return 0
	}
	return t.heap[0].score
}

// offer takes a hit in if it is among the best so far.
func (t *top) offer(doc uint32, score float32) {
	if !t.takes(score) {
		return // the usual case, without a look at its rank
	}
	r := ranked{doc, score, t.cols.rank(doc)}
	switch {
	case len(t.heap) < t.want:
		if t.heap = append(t.heap, r); len(t.heap) == t.want {
			heap.Init(&t.heap)
		}
	case better(r, t.heap[0]) < 0:
		t.heap[0] = r
		heap.Fix(&t.heap, 0)
	}
}

// from gives what was kept, best first, without the best offset; nothing can
// be added after.
func (t *top) from(offset int) []ranked {
	slices.SortFunc(t.heap, better)
	return t.heap[min(offset, len(t.heap)):]
}

// inOrder puts hits in the order of reels.
func (i *Index) inOrder(found hits) {
	ranks := i.cols.array(colRank)
	slices.SortFunc(found.docs, func(a, b uint32) int { return cmp.Compare(ranks.at(a), ranks.at(b)) })
}

// count counts hits by speaker, reel and theme.
func (i *Index) count(e *evaluator, hits set, res *Result) error {
	bySpeaker, err := e.bySpeaker(hits)
	if err != nil {
		return err
	}
	byReel := make([]int, len(i.cols.names[nameReel]))
	runs, end := i.cols.reelRuns(), uint32(i.cols.docs)
	for k := uint32(i.cols.runs); k > 0; k-- {
		start := runs.at(3 * (k - 1))
		byReel[runs.at(3*(k-1)+1)] += hits.countIn(start, end)
		end = start
	}
	byTheme := make([]int, len(i.cols.names[nameTheme]))
	pairs := i.cols.themePairs()
	for p := range uint32(i.cols.pairs) {
		if hits.has(pairs.at(2 * p)) {
			byTheme[pairs.at(2*p+1)]++
		}
	}
	res.Speakers = counted(i.cols.names[nameSpeaker], bySpeaker)
	res.Reels = counted(i.cols.names[nameReel], byReel)
	res.Themes = slices.DeleteFunc(counted(i.cols.names[nameTheme], byTheme), func(c Count) bool {
		return story.SameTheme(c.Name, story.Strong)
	})
	return nil
}

// bySpeaker counts hits by the numbers of speakers: few speakers by the lists
// of what they say, many by a look at each hit.
func (e *evaluator) bySpeaker(hits set) ([]int, error) {
	names := e.i.cols.names[nameSpeaker]
	counts := make([]int, len(names))
	total := hits.count()
	if e.i.lists == nil || len(names)*len(hits) > total {
		speakers := e.i.cols.array(colSpeaker)
		hits.each(func(d uint32) { counts[speakers.at(d)]++ })
		return counts, nil
	}
	says := e.newSet()
	defer e.free(says)
	counts[0] = total // the rest: nobody knows who
	for n, name := range names[1:] {
		clear(says)
		if _, err := e.addTo(says, true, fieldFacts, string(factSpeaker)+name); err != nil {
			return nil, err
		}
		counts[n+1] = hits.countBoth(says)
		counts[0] -= counts[n+1]
	}
	return counts, nil
}

func counted(names []string, counts []int) []Count {
	var out []Count
	for k, n := range counts {
		if n > 0 {
			out = append(out, Count{names[k], n})
		}
	}
	slices.SortFunc(out, func(a, b Count) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), strings.Compare(a.Name, b.Name))
	})
	return out
}
