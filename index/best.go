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
	ranks := i.cols.array(colRank)
	want := len(found.docs)
	if limit < want-offset {
		want = offset + limit
	}
	h := make(worstFirst, 0, min(want, len(found.docs))+1)
	for k, d := range found.docs {
		if len(h) == want && (want == 0 || found.scores[k] < h[0].score) && want < len(found.docs) {
			continue // the usual case, without a look at its rank
		}
		r := ranked{d, found.scores[k], at(ranks, d)}
		switch {
		case len(h) < want:
			if h = append(h, r); len(h) == want && want < len(found.docs) {
				heap.Init(&h)
			}
		case want > 0 && better(r, h[0]) < 0:
			h[0] = r
			heap.Fix(&h, 0)
		}
	}
	slices.SortFunc(h, better)
	return h[min(offset, len(h)):]
}

// inOrder puts hits in the order of reels.
func (i *Index) inOrder(found hits) {
	ranks := i.cols.array(colRank)
	slices.SortFunc(found.docs, func(a, b uint32) int { return cmp.Compare(at(ranks, a), at(ranks, b)) })
}

// count counts the hits by speaker, reel and theme.
func (i *Index) count(found hits, res *Result) {
	speakers := i.cols.array(colSpeaker)
	reels := i.cols.array(colReel)
	pairs := i.cols.array(colThemes)
	bySpeaker := make([]int, len(i.cols.names[nameSpeaker]))
	byReel := make([]int, len(i.cols.names[nameReel]))
	byTheme := make([]int, len(i.cols.names[nameTheme]))
	p := uint32(0)
	for _, d := range found.docs {
		bySpeaker[at(speakers, d)]++
		byReel[at(reels, d)]++
		for int(p) < i.cols.pairs && at(pairs, 2*p) < d {
			p++
		}
		for int(p) < i.cols.pairs && at(pairs, 2*p) == d {
			byTheme[at(pairs, 2*p+1)]++
			p++
		}
	}
	res.Speakers = counted(i.cols.names[nameSpeaker], bySpeaker)
	res.Reels = counted(i.cols.names[nameReel], byReel)
	res.Themes = slices.DeleteFunc(counted(i.cols.names[nameTheme], byTheme), func(c Count) bool {
		return story.SameTheme(c.Name, story.Strong)
	})
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
