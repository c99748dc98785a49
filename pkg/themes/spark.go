package themes

import "math"

// Spark draws a candidate over the time of shooting with one of nine signs a
// column, from a space for never to █ for where it is densest. Reels stand in
// the order given, each as wide as any other; if there are more than columns,
// neighbours share one and the denser counts. Columns below 1 mean one for
// each reel. No reels give "".
func Spark(reels []InReel, columns int) string {
	if len(reels) == 0 {
		return ""
	}
	if columns < 1 || columns > len(reels) {
		columns = len(reels)
	}
	heights, most := make([]float64, columns), 0.0
	for i, r := range reels {
		at := i * columns / len(reels)
		heights[at] = max(heights[at], r.PerThousand)
		most = max(most, r.PerThousand)
	}
	signs := []rune(" ▁▂▃▄▅▆▇█")
	line := make([]rune, columns)
	for i, h := range heights {
		line[i] = signs[0]
		if h > 0 {
			line[i] = signs[int(math.Ceil(h/most*8))]
		}
	}
	return string(line)
}
