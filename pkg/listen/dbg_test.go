package listen
import ("testing";"math/rand/v2";"sort";"fmt")
func TestDbg(t *testing.T) {
	for _, lang := range []string{"en","es"} {
	for _, snr := range []float64{30,20,10} {
	clips := voices(t, lang, 1, 60)
	r := rand.New(rand.NewPCG(1, uint64(snr)))
	x, truth := placed(clips, 8000, func(int) float64 { return 0.3 + 1.7*r.Float64() })
	var talk []float64
	for _, c := range clips { talk = append(talk, c.x...) }
	mix(x, pinkNoise(len(x), r), 0, rms(talk)*db(-snr))
	h := hear(t, newScene(8000, x), Options{})
	s := scoreEdges(truth, h.Speech)
	var e [2][]int
	for i, v := range s.errors { e[i%2] = append(e[i%2], int(v)) }
	sort.Ints(e[0]); sort.Ints(e[1])
	fmt.Println(lang, snr, "in ", e[0]); fmt.Println(lang, snr, "out", e[1])
	}}
}
