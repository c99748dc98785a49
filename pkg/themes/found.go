package themes

import (
	"encoding/json"
	"errors"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ErrOption is wrapped by errors about options that can't be followed.
var ErrOption = errors.New("wrong option")

// The values of Options.By.
const (
	BySpeaker = "speaker"
	ByReel    = "reel"
	ByDay     = "day"
)

// Found is what keeps coming back, best first.
type Found struct {
	Recurring []Candidate `json:"recurring"`
	// Lists holds a list for each speaker, reel or day if Options.By asked
	// for it: what sets them apart from the others.
	Lists []List `json:"lists,omitempty"`
	// Reels are all reels that were heard, in the order of shooting.
	Reels []string `json:"reels"`
	// Quotes and Words count what was gone over.
	Quotes int `json:"quotes"`
	Words  int `json:"words"`
	// Languages says for each language heard, most words first, what stands
	// for everyday talk.
	Languages []Language `json:"languages"`
	// Notes are remarks for people: what could not be compared, and why.
	Notes []string `json:"notes,omitempty"`
}

// List is what sets one speaker, reel or day apart.
type List struct {
	By        string      `json:"by"`
	Value     string      `json:"value"`
	Words     int         `json:"words"`
	Recurring []Candidate `json:"recurring"`
}

// Language is one language of the talk.
type Language struct {
	// Tag is its BCP 47 primary tag, "" if quotes didn't say.
	Tag   string `json:"language"`
	Words int    `json:"words"`
	// Reference names the everyday list compared with; "" if there is none
	// and only reels were compared with each other.
	Reference string `json:"reference,omitempty"`
}

// Candidate is a word, phrase or family that may be a theme. Its JSON has the
// fields of story.Recurring, which others rely on, and more.
type Candidate struct {
	story.Recurring
	// Place counts from 1.
	Place int `json:"place"`
	// Here is how often the speaker, reel, day or the last days that the
	// list is about say it; Count is always that of all the talk.
	Here int `json:"here"`
	// Score orders candidates within one list; it has no meaning of its own.
	Score float64 `json:"score"`
	// Family holds each form with how often it was said, most first.
	Family []Form `json:"family"`
	// Phrases are those that stand under it: they say the same and more.
	Phrases []Form `json:"phrases,omitempty"`
	// Words are those that a phrase is made of, each with all its occurrences,
	// also those outside the phrase.
	Words []Form `json:"words,omitempty"`
	// Related are words of like meaning that are said as well, twice or more,
	// with their own counts; none of them counts here. Only where
	// Options.Related was given, and for single words of a language that has a thesaurus.
	Related []Form `json:"related,omitempty"`
	// PerReel has an entry for every reel in the order of shooting, also for
	// those that don't say it: the line over time.
	PerReel []InReel `json:"per_reel"`
	// Sayings is how many quotes say it; Asked and Answered how many of its
	// occurrences are the asker's, and those of everybody else.
	Sayings  int `json:"sayings"`
	Asked    int `json:"asked"`
	Answered int `json:"answered"`
	// FirstSaid is where it was said first in the order of shooting.
	FirstSaid First `json:"first_said"`
	// Everyday is the contrast with everyday talk, nil without a reference.
	Everyday *Contrast `json:"everyday,omitempty"`
	// Others is the contrast of the reel (speaker, day) that it is most
	// typical of with all the others, nil where there is only one.
	Others *Contrast `json:"others,omitempty"`
	Burst  Burst     `json:"burst"`
	// Late tells that it emerged in the last days of the shoot: see Options.Late.
	Late bool `json:"late,omitempty"`
	// Why holds the parts of the rank: their product is Score.
	Why []Part `json:"why"`
}

// Form is one form of a family, or one way a phrase is said.
type Form struct {
	Text  string `json:"form"`
	Count int    `json:"count"`
}

// InReel is how often a candidate is said in one reel.
type InReel struct {
	Reel  string `json:"reel"`
	Count int    `json:"count"`
	// PerThousand is the count among a thousand words of the reel.
	PerThousand float64 `json:"per_thousand"`
}

// The values of First.By.
const (
	ByAsker    = "asker"
	ByAnswerer = "answerer"
)

// First says who brought a candidate up, where and when.
type First struct {
	Code    story.Code
	Reel    string
	Day     string
	Speaker string
	// By is ByAsker or ByAnswerer, "" where nobody is known to ask. What the
	// asker brought up was put into the others' mouths.
	By string
	// Asker is By == ByAsker.
	Asker bool
	// At is the in of the quote.
	At    timecode.Ticks
	Clock timecode.Clock
}

// MarshalJSON writes {"code","reel","day","speaker","by","at"}; by is "asker",
// "answerer", or "" where no one is known to ask.
func (f First) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Code    story.Code      `json:"code"`
		Reel    string          `json:"reel"`
		Day     string          `json:"day,omitempty"`
		Speaker string          `json:"speaker"`
		By      string          `json:"by"`
		At      timecode.Moment `json:"at"`
	}{f.Code, f.Reel, f.Day, f.Speaker, f.By, f.Clock.In(f.At)})
}

// Contrast is how much more something is said here than there.
type Contrast struct {
	// Where names what it is typical of; "" for all the talk.
	Where string `json:"where,omitempty"`
	// G2 is the log-likelihood, less than 0 if it is said less here.
	G2 float64 `json:"g2"`
	// LogRatio is the effect size: by how many doublings its share of the
	// words is greater here.
	LogRatio float64 `json:"log_ratio"`
}

// Burst is how a candidate comes in bursts (Kleinberg 2002): stretches of talk
// that say it more often than all of it does.
type Burst struct {
	// Levels is the highest level of any burst, each twice as dense as the
	// one below: 0 for none.
	Levels int `json:"levels"`
	// Share is the part of its occurrences that lie in bursts, 0 to 1.
	Share float64 `json:"share"`
	// Reel is where the longest burst starts, From its first quote; "" for
	// none.
	Reel string     `json:"reel,omitempty"`
	From story.Code `json:"from,omitempty"`
}

// Part is one factor of a rank.
type Part struct {
	Name string `json:"part"`
	// Factor is what the score is multiplied by.
	Factor float64 `json:"factor"`
	// Note says in words what it comes from.
	Note string `json:"note"`
}
