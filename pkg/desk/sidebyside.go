package desk

import (
	"context"
	"runtime"
	"sync"
)

// sideBySide calls do with 0 to n−1, as many at a time as there are processors,
// and gives the first error; the others are stopped then.
func sideBySide(ctx context.Context, n int, do func(ctx context.Context, i int) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var first error
	var failed sync.Once
	var wait sync.WaitGroup
	next := make(chan int)
	for range min(runtime.NumCPU(), n) {
		wait.Go(func() {
			for i := range next {
				err := ctx.Err()
				if err == nil {
					err = do(ctx, i)
				}
				if err != nil {
					failed.Do(func() { first = err })
					stop()
				}
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
	return first
}

// shares is the progress of a job whose parts are done side by side.
type shares struct {
	Progress
	mu   sync.Mutex
	size []int64
	done []int64
	sum  int64
}

// shares begins a job of parts of these sizes; none is no job.
func (d *Desk) shares(job string, size []int64) *shares {
	s := &shares{Progress: d.progress(), size: size, done: make([]int64, len(size))}
	var total int64
	for _, n := range size {
		total += n
	}
	if len(size) == 0 {
		s.Progress = noProgress{}
	}
	s.Begin(job, total)
	return s
}

// reached tells how much of a part is done, 0 to 1.
func (s *shares) reached(part int, share float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := int64(float64(s.size[part]) * min(share, 1))
	s.sum += now - s.done[part]
	s.done[part] = now
	s.Reached(s.sum)
}

func (s *shares) end() { s.End() }
