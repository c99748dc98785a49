package index

// irregularEnglish gives the base of an English form that no rule of endings
// leads back to: "ring" for "rang" and "rung"; "" for every other word. Forms
// that are more often a word of their own (wound, ground, bound, rose, lay,
// fell, bore, lie, saw the tool is accepted) are left out. Common knowledge,
// no source.
func irregularEnglish(w string) string {
	if len(w) < 3 || len(w) > 10 {
		return ""
	}
	switch w {
	case "rang", "rung":
		return "ring"
	case "sang", "sung":
		return "sing"
	case "swam", "swum":
		return "swim"
	case "began", "begun":
		return "begin"
	case "drank", "drunk":
		return "drink"
	case "sank", "sunk":
		return "sink"
	case "ran":
		return "run"
	case "came":
		return "come"
	case "became":
		return "become"
	case "went", "gone", "goes":
		return "go"
	case "took", "taken":
		return "take"
	case "gave", "given":
		return "give"
	case "spoke", "spoken":
		return "speak"
	case "broke", "broken":
		return "break"
	case "chose", "chosen":
		return "choose"
	case "drove", "driven":
		return "drive"
	case "rode", "ridden":
		return "ride"
	case "wrote", "written":
		return "write"
	case "fallen":
		return "fall"
	case "known", "knew":
		return "know"
	case "grew", "grown":
		return "grow"
	case "threw", "thrown":
		return "throw"
	case "flew", "flown":
		return "fly"
	case "drew", "drawn":
		return "draw"
	case "blew", "blown":
		return "blow"
	case "saw", "seen":
		return "see"
	case "ate", "eaten":
		return "eat"
	case "forgot", "forgotten":
		return "forget"
	case "got", "gotten":
		return "get"
	case "heard":
		return "hear"
	case "held":
		return "hold"
	case "kept":
		return "keep"
	case "slept":
		return "sleep"
	case "wept":
		return "weep"
	case "felt":
		return "feel"
	case "dealt":
		return "deal"
	case "meant":
		return "mean"
	case "met":
		return "meet"
	case "led":
		return "lead"
	case "lost":
		return "lose"
	case "left":
		return "leave"
	case "made":
		return "make"
	case "paid":
		return "pay"
	case "said":
		return "say"
	case "told":
		return "tell"
	case "sold":
		return "sell"
	case "sent":
		return "send"
	case "spent":
		return "spend"
	case "built":
		return "build"
	case "bought":
		return "buy"
	case "brought":
		return "bring"
	case "caught":
		return "catch"
	case "fought":
		return "fight"
	case "taught":
		return "teach"
	case "thought":
		return "think"
	case "sought":
		return "seek"
	case "found":
		return "find"
	case "stood":
		return "stand"
	case "understood":
		return "understand"
	case "sat":
		return "sit"
	case "won":
		return "win"
	case "hung":
		return "hang"
	case "stuck":
		return "stick"
	case "dug":
		return "dig"
	case "swung":
		return "swing"
	case "tore", "torn":
		return "tear"
	case "wore", "worn":
		return "wear"
	case "swore", "sworn":
		return "swear"
	case "stole", "stolen":
		return "steal"
	case "froze", "frozen":
		return "freeze"
	case "woke", "woken":
		return "wake"
	case "hid", "hidden":
		return "hide"
	case "bitten":
		return "bite"
	case "shook", "shaken":
		return "shake"
	case "children":
		return "child"
	case "women":
		return "woman"
	case "men":
		return "man"
	case "feet":
		return "foot"
	case "teeth":
		return "tooth"
	case "geese":
		return "goose"
	case "mice":
		return "mouse"
	case "wives":
		return "wife"
	case "knives":
		return "knife"
	}
	return ""
}
