package listen

// faultPlace is one finding, or several near each other.
type faultPlace struct {
	from, to int64 // samples
	n        int   // how many
	size     int64 // samples of all of them
	value    float64
}

// faultList gathers findings in order of time and merges those that lie within
// gap. It never holds more than faultMost: then the gap grows.
type faultList struct {
	gap    int64
	places []faultPlace
}

const faultMost = 32

// add takes a finding; the places' values become the higher one.
func (l *faultList) add(p faultPlace) {
	if n := len(l.places); n > 0 && p.from-l.places[n-1].to <= l.gap {
		l.places[n-1].join(p)
		// A finding that was long in coming may reach back over others.
		for ; n > 1 && l.places[n-1].from-l.places[n-2].to <= l.gap; n-- {
			l.places[n-2].join(l.places[n-1])
			l.places = l.places[:n-1]
		}
		return
	}
	l.places = append(l.places, p)
	for len(l.places) > faultMost {
		l.gap *= 2
		old := l.places
		l.places = l.places[:1]
		for _, p := range old[1:] {
			last := &l.places[len(l.places)-1]
			if p.from-last.to <= l.gap {
				last.join(p)
			} else {
				l.places = append(l.places, p)
			}
		}
	}
}

func (p *faultPlace) join(o faultPlace) {
	p.from, p.to = min(p.from, o.from), max(p.to, o.to)
	p.n += o.n
	p.size += o.size
	p.value = max(p.value, o.value)
}
