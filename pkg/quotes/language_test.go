package quotes

import (
	"testing"

	"rushlight/pkg/timedtext"
)

func TestLanguage(t *testing.T) {
	// Sentences of our own about the same thing.
	texts := map[string]string{
		"en": "There was a bell on the far bank and when you rang it the ferry came over for you. Now nobody rings it, because they are all waiting for the bridge.",
		"de": "Am anderen Ufer war eine Glocke, und wenn man sie läutete, kam die Fähre herüber. Jetzt läutet sie niemand mehr, weil alle auf die Brücke warten.",
		"fr": "Il y avait une cloche sur l'autre rive et quand on la sonnait, le bac venait vous chercher. Maintenant personne ne sonne, parce que tout le monde attend le pont.",
		"es": "Había una campana en la otra orilla y cuando la tocabas venía la barca a por ti. Ahora nadie la toca, porque todos están esperando el puente.",
		"nl": "Er hing een bel aan de overkant en als je die luidde dan kwam het pontje je halen. Nu luidt niemand hem meer, omdat ze allemaal op de brug wachten.",
		"it": "C'era una campana sull'altra riva e quando la suonavi il traghetto veniva a prenderti. Ora nessuno la suona più, perché tutti aspettano il ponte che non è ancora aperto.",
		"pt": "Havia um sino na outra margem e quando você tocava o sino a balsa vinha buscar. Agora ninguém toca mais, porque todos estão esperando a ponte que não foi aberta.",
		"sv": "Det fanns en klocka på andra sidan och när man ringde i den kom färjan över. Nu är det ingen som ringer för att alla väntar på bron som inte är klar.",
		"ja": "向こう岸に鐘があって、鳴らすと渡し船が来ました。今は誰も鳴らしません。",
		"zh": "对岸有一口钟，你一敲，渡船就过来。现在没有人敲了，大家都在等那座桥。",
		"ru": "На том берегу был колокол, и когда ты звонил, паром приходил за тобой. Теперь никто не звонит, потому что все ждут, что откроют мост, а он ещё не готов.",
		"":   "bell bell bell bell bell bell bell bell bell bell bell bell bell bell bell bell bell bell bell bell bell bell",
	}
	for want, text := range texts {
		doc := &timedtext.Document{Cues: []timedtext.Cue{{Lines: timedtext.Text(text)}}}
		if got := Language(doc, ""); got != want {
			t.Errorf("got %q, want %q for %q", got, want, text)
		}
	}
	english := &timedtext.Document{Cues: []timedtext.Cue{{Lines: timedtext.Text(texts["en"])}}}
	short := &timedtext.Document{Cues: []timedtext.Cue{{Lines: timedtext.Text("There was a bell.")}}}
	told := &timedtext.Document{Language: "pt_br", Cues: english.Cues}
	tests := []struct {
		name, declared, want string
		doc                  *timedtext.Document
	}{
		{"declared", "de-at", "de-AT", english},
		{"the document's first", "de", "pt-BR", told},
		{"undetermined", "und", "en", english},
		{"not a tag", "?!", "en", english},
		{"too short", "", "", short},
		{"no document", "fr", "fr", nil},
		{"nothing", "", "", nil},
	}
	for _, tt := range tests {
		if got := Language(tt.doc, tt.declared); got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.name, got, tt.want)
		}
	}
}
