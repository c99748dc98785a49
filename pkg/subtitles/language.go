package subtitles

import "strings"

// grammar holds the small words of a language by what they do to a break.
type grammar struct {
	// determiners hold fast to the word after them: articles, possessives,
	// demonstratives. titles do too, and their full stop ends no sentence.
	determiners, titles set
	// prepositions and conjunctions are good to break before, not after.
	prepositions, conjunctions set
	// auxiliaries hold to the verb after them, subjects to the verb.
	auxiliaries, subjects set
	// objects are pronouns that hold to the verb before them.
	objects set
	// ordinals tells that a figure with a full stop is a place in an order:
	// am 3. Oktober.
	ordinals bool
}

type set map[string]bool

func words(s string) set {
	m := set{}
	for _, w := range strings.Fields(s) {
		m[w] = true
	}
	return m
}

// grammarOf is the grammar of a language, empty where none is known. The lists
// are ours: the closed classes as any school grammar has them.
func grammarOf(language string) grammar {
	switch primary(language) {
	case "en":
		return english()
	case "de":
		g := german()
		g.ordinals = true
		return g
	case "fr":
		return french()
	case "es":
		return spanish()
	case "it":
		return italian()
	case "nl":
		return dutch()
	case "pt":
		return portuguese()
	}
	return grammar{ordinals: writesOrdinals(primary(language))}
}

// writesOrdinals tells whether a language writes ordinals with a full stop.
func writesOrdinals(language string) bool {
	switch language {
	case "cs", "da", "de", "et", "fi", "hr", "hu", "is", "lv", "nb", "nn", "no", "pl", "sk", "sl", "sr", "tr":
		return true
	}
	return false
}

func english() grammar {
	return grammar{
		determiners: words(`a an the my your his her its our their this that these those some any no every each
			another either neither both all half`),
		titles: words(`mr mrs ms dr st mt sir prof professor rev sgt lt capt captain uncle aunt vs e.g i.e`),
		prepositions: words(`of in on at by for from to with without into onto over under across through between among
			against along around behind before after below beneath beside beyond during except inside near off
			outside past since toward towards till until upon within about above as like than per via next because`),
		conjunctions: words(`and but or nor so yet because although though unless if when whenever while whereas where
			wherever who whom whose which that what why how whether then`),
		auxiliaries: words(`am is are was were be been being have has had having do does did will would shall should
			can could may might must ought i'm you're he's she's it's we're they're i've you've we've they've i'd
			you'd he'd she'd we'd they'd i'll you'll he'll she'll it'll we'll they'll isn't aren't wasn't weren't
			haven't hasn't hadn't don't doesn't didn't won't wouldn't can't cannot couldn't shouldn't mustn't not
			there's that's who's going got never`),
		subjects: words(`i you he she it we they there somebody nobody everybody someone everyone`),
		objects:  words(`me you him her it us them myself yourself himself herself`),
	}
}

func german() grammar {
	return grammar{
		determiners: words(`der die das den dem des ein eine einen einem einer eines kein keine keinen keinem keiner
			mein meine meinen meinem meiner dein deine deinen sein seine seinen seinem seiner ihr ihre ihren ihrem
			ihrer unser unsere unseren euer eure dieser diese dieses diesen diesem jeder jede jedes jeden jedem
			zum zur im am vom beim ins ans`),
		titles: words(`herr herrn frau dr prof z.b d.h bzw ca nr st`),
		prepositions: words(`an auf aus außer bei bis durch für gegen hinter in mit nach neben ohne seit trotz über um
			unter von vor während wegen zu zwischen zum zur im am vom beim ins ans entlang gegenüber`),
		conjunctions: words(`und aber oder denn sondern doch weil dass daß ob wenn als während obwohl damit bevor
			nachdem bis seit sobald wo wer wie was warum welcher welche welches sowie`),
		auxiliaries: words(`bin bist ist sind seid war waren warst habe hast hat haben hatte hatten werde wirst wird
			werden wurde wurden kann können konnte muss müssen musste soll sollen sollte will wollen wollte darf
			dürfen mag möchte nicht nie`),
		subjects: words(`ich du er sie es wir man jemand niemand`),
		objects:  words(`mich dich ihn sie es uns euch mir dir ihm ihnen sich`),
	}
}

func french() grammar {
	return grammar{
		determiners: words(`le la les un une des du au aux mon ma mes ton ta tes son sa ses notre nos votre vos leur
			leurs ce cet cette ces chaque quelque quelques aucun aucune`),
		titles: words(`m mm mme mmes mlle mlles dr pr`),
		prepositions: words(`à de dans en par pour sur sous avec sans chez vers entre contre depuis pendant avant après
			devant derrière dès jusque jusqu'à malgré parmi selon du au aux des`),
		conjunctions: words(`et ou mais donc or ni car que qui quand lorsque parce puisque si comme où dont quoi
			pourquoi comment quoique tandis afin`),
		auxiliaries: words(`ai as a avons avez ont avais avait avaient suis es est sommes êtes sont étais était étaient
			ne pas n'est n'ai n'a va vais vont peut peux peuvent doit dois j'ai c'est c'était se me te s'est`),
		subjects: words(`je tu il elle on nous vous ils elles ça`),
	}
}

func spanish() grammar {
	return grammar{
		determiners: words(`el la los las un una unos unas lo al del mi mis tu tus su sus nuestro nuestra nuestros
			nuestras este esta estos estas ese esa esos esas aquel aquella cada algún alguna ningún ninguna otro
			otra`),
		titles: words(`sr sres sra srta dr dra prof don doña`),
		prepositions: words(`a ante bajo con contra de desde en entre hacia hasta para por según sin sobre tras
			durante al del`),
		conjunctions: words(`y e o u pero sino ni que porque pues aunque si cuando donde como quien quienes cual cuales
			cuyo mientras`),
		auxiliaries: words(`he has ha hemos han había habían soy eres es somos son era eran fue fueron está están
			estaba estaban no nunca se me te le nos les va voy van puede pueden debe quiero`),
		subjects: words(`yo tú él ella usted nosotros ellos ellas ustedes alguien nadie`),
	}
}

func italian() grammar {
	return grammar{
		determiners: words(`il lo la i gli le un uno una del dello della dei degli delle al allo alla ai agli alle dal
			dalla nel nella nei nelle sul sulla mio mia miei mie tuo tua suo sua suoi sue nostro nostra vostro loro
			questo questa questi queste quel quello quella quei ogni qualche nessun nessuna`),
		titles: words(`sig sigg sig.ra dott dott.ssa dr prof avv ing`),
		prepositions: words(`a di da in con su per tra fra senza sopra sotto dopo prima durante verso contro del dello
			della dei degli delle al allo alla ai agli alle dal dalla nel nella sul sulla`),
		conjunctions: words(`e ed o ma però che perché se quando dove come chi cui quale quali mentre anche né quindi
			benché`),
		auxiliaries: words(`ho hai ha abbiamo avete hanno aveva avevano sono sei è siamo siete era erano non si mi ti ci
			vi può possono deve devo c'è c'era sta stanno`),
		subjects: words(`io tu lui lei noi voi loro nessuno qualcuno`),
	}
}

func dutch() grammar {
	return grammar{
		determiners: words(`de het een 't 'n mijn jouw je zijn haar ons onze hun deze dit die dat elke elk geen iedere`),
		titles:      words(`meneer mevrouw dhr mw mr dr drs ir ing prof`),
		prepositions: words(`aan bij door in met na naar naast om onder op over sinds te tegen tijdens tot tussen uit
			van voor zonder langs achter boven`),
		conjunctions: words(`en maar of want dus omdat dat die als wanneer toen terwijl hoewel zodat wat wie waar hoe
			waarom welke`),
		auxiliaries: words(`ben bent is zijn was waren heb hebt heeft hebben had hadden word wordt worden werd kan
			kunnen kon moet moeten mag zal zullen zou wil niet nooit`),
		subjects: words(`ik jij je hij zij ze wij we jullie men iemand niemand`),
		objects:  words(`mij me jou je hem haar het ons jullie hen hun zich`),
	}
}

func portuguese() grammar {
	return grammar{
		determiners: words(`o a os as um uma uns umas do da dos das no na nos nas ao à aos às pelo pela meu minha meus
			minhas teu tua seu sua seus suas nosso nossa este esta estes estas esse essa aquele aquela cada algum
			alguma nenhum nenhuma`),
		titles: words(`sr sra dr dra prof profa dom dona`),
		prepositions: words(`a ante após até com contra de desde em entre para por perante sem sob sobre do da dos das
			no na nos nas ao à pelo pela`),
		conjunctions: words(`e ou mas nem que porque pois embora se quando onde como quem qual quais cujo enquanto
			porém`),
		auxiliaries: words(`sou és é somos são era eram foi foram estou está estão estava tenho tem têm tinha tinham há
			havia não nunca se me te lhe vai vou vão pode podem deve`),
		subjects: words(`eu tu ele ela você nós vocês eles elas alguém ninguém`),
	}
}
