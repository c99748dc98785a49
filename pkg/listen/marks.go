package listen

// marks holds one bit for each step.
type marks []uint64

func newMarks(steps int) marks { return make(marks, (steps+63)/64) }

func (m marks) has(step int) bool { return m[uint(step)/64]>>(uint(step)%64)&1 == 1 }

func (m marks) set(step int) { m[uint(step)/64] |= 1 << (uint(step) % 64) }

func (m marks) unset(step int) { m[uint(step)/64] &^= 1 << (uint(step) % 64) }
