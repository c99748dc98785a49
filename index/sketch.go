package index

// sketch is the stems of a text in order, stop words left out, each as a
// 16-bit hash. Different words share a hash once in 65,536 pairs. It can't be
// read back as text, but two can be compared, and with the dictionary of the
// index the words of one are found again. It costs about 40 bytes a quote,
// where the words themselves would cost a hundred.
type sketch []uint16

// sketchHash is the two bytes of a stem: FNV-1a of 32 bits, its halves folded
// together as its authors recommend (recalled).
func sketchHash(stem string) uint16 {
	s := uint32(2166136261)
	for i := range len(stem) {
		s = (s ^ uint32(stem[i])) * 16777619
	}
	return uint16(s>>16) ^ uint16(s)
}

// isFiller tells sounds of hesitation and assent, which change with every
// telling. Common knowledge, no source.
func isFiller(stem string) bool {
	switch stem {
	case "uh", "um", "er", "erm", "ah", "oh", "eh", "hm", "hmm", "mm", "mmm", "mhm", "huh", "ahm", "euh":
		return true
	}
	return false
}
