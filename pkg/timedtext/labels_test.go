package timedtext

import "testing"

// What is left of a cue where somebody took the words out and left the name is
// no talk; a word with a colon that nobody is called is.
func TestBareLabels(t *testing.T) {
	runReads(t, []readCase{
		{
			"of a speaker", "1\n00:00:03,000 --> 00:00:04,000\nInes Corrigan: \n\n2\n00:00:05,000 --> 00:00:06,000\nInes Corrigan: Please.\n",
			"5-6 [Ines Corrigan] Please.", SRT, 1,
		},
		{
			"of nobody", "1\n00:00:03,000 --> 00:00:04,000\nAttention:\n\n2\n00:00:05,000 --> 00:00:06,000\nInes Corrigan: Please.\n",
			"3-4 Attention:\n5-6 [Ines Corrigan] Please.", SRT, 0,
		},
		{
			"in WebVTT", "WEBVTT\n\n00:03.000 --> 00:04.000\nInes:\n\n00:05.000 --> 00:06.000\n<v Ines>Please.\n",
			"5-6 [Ines] Please.", WebVTT, 1,
		},
	})
}
