package review

import "rushlight/pkg/story"

// Asking is one person's part in asking, in one reel.
type Asking struct {
	Reel, Speaker string
	// Sayings and Questions count; Closed, Open and Leading count among the
	// questions.
	Sayings, Questions, Closed, Open, Leading int
	// QuestionShare is the part of their own sayings that ask, OfAll the part
	// of the reel's questions that are theirs, TalkShare the part of the
	// reel's talk, by the length of their quotes; all 0 to 1.
	QuestionShare, OfAll, TalkShare float64
	// Asks tells that this is who leads the talk.
	Asks bool
}

// AskingOf counts for each reel and speaker, in order of first appearance.
func AskingOf(quotes []story.Quote) []Asking { return nil }

// Askers is who asks in each reel; a reel in which nobody clearly does is not
// in it.
func Askers(quotes []story.Quote) map[string]string { return nil }
