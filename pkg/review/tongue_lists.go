package review

import "sync"

// tongues are the lists by language tag. They are never changed.
var tongues = sync.OnceValue(func() map[string]*tongue {
	return map[string]*tongue{
		"en": {
			points: set(`it it's it'd it'll he he's he'd he'll she she's she'd she'll they they're they'd they've they'll that that's that'd
				this those these them him her its their his hers theirs`),
			joining: set("and but so or well then anyway also plus now okay oh yeah right"),
			bound:   set("because cause which who whose than as unless until although though whereas"),
			halves:  set("if when while before after"),
			hanging: set("and but or so because the a an of to in on at with for from by if that which who is are was were my your his her their our very as than like um uh"),
			replies: set("yes no yeah yep nope sure maybe exactly absolutely definitely right correct true okay uh-huh mm"),
			filler:  set("um uh er erm ah hm mm uh-huh huh"),
			markers: pairs("you know", "i mean", "you see", "or something", "or whatever"),
			self:    set("i i'm i've i'd i'll me my mine myself we we're we've we'd we'll us our ours ourselves"),
			strong:  set("never always nobody everybody everyone nothing everything every all only last first best worst most must whole forever none anyone anybody exactly"),
			concrete: set(`hand hands face eye eyes head hair arm arms foot feet leg back shoulder mouth voice ear ears heart blood bone skin tear tears
				mother father wife husband son daughter child children baby boy girl sister brother grandmother grandfather neighbour neighbor doctor teacher
				house home room kitchen door window roof floor wall stairs bed table chair lamp clock fire stove cup plate knife bread milk tea coffee soup
				water river sea lake rain snow ice wind fog storm mud sand stone rock hill field wood tree grass leaf flower bird dog cat horse cow fish sheep
				boat ship ferry rope cable winch anchor oar deck bank shore landing bridge road path street car bus train bicycle wheel engine truck
				bell stick post key box bag coat coats shoe shoes boot boots glove gloves hat dress shirt vest ring rings rang money letter book paper
				photograph picture camera phone radio song piano guitar drum gun bomb hammer nail saw spade needle thread church school shop factory farm
				hospital prison station market garden grave morning night winter summer spring autumn sunday monday friday christmas birthday birth
				red blue green yellow black white cold hot wet dark light loud silent smell smoke dust salt sugar concrete iron steel glass
				walked ran fell cried laughed shouted whispered sang slept woke ate drank pulled pushed carried threw caught broke burned burnt died born
				one two three four five six seven eight nine ten eleven twelve twenty thirty forty fifty sixty seventy eighty ninety hundred thousand million`),
			vague: set(`thing things stuff something somehow basically kind sort process situation aspect aspects issue issues level terms context
				opportunity experience development important interesting different various certain general generally probably obviously actually really
				maybe perhaps whatever etcetera factor factors element elements structure approach sense area areas`),
		},
		"de": {
			articles: set("der die das"),
			afterThem: set(`ist sind war waren hat haben hatte hatten wird werden wurde wurden will wollen wollte wollten kann können konnte konnten
				muss müssen musste mussten soll sollen sollte sollten macht machen machte machten kam kamen geht gehen ging gingen`),
			impersonal: pairs("es gibt", "es gab", "es regnet", "es regnete", "es schneit", "es schneite"),
			points:     set("er sie es das dies die der dieser diese dieses jene ihm ihn ihnen dort da davon damit dafür daran darauf dabei dazu"),
			joining:    set("und aber also oder naja dann ja nun jetzt okay ach"),
			bound:      set("weil denn welche welcher dass als obwohl sondern"),
			halves:     set("wenn falls während bevor nachdem"),
			hanging:    set("und aber oder weil der die das ein eine einen zu in an auf mit für von wenn dass ist war sehr als wie äh ähm"),
			replies:    set("ja nein doch genau klar vielleicht richtig stimmt sicher"),
			filler:     set("äh ähm öh hm mhm"),
			markers:    pairs("weißt du", "wissen sie", "sag ich", "oder so"),
			self:       set("ich mich mir mein meine meinen meinem meiner wir uns unser unsere unseren"),
			strong:     set("nie niemals immer niemand alle alles nichts jeder jede jedes nur einzige letzte erste ganz beste schlimmste"),
		},
		"fr": {
			impersonal: pairs("il y", "il faut", "il fallait", "il pleut", "il pleuvait", "il neige", "il neigeait", "il faisait"),
			points:     set("il elle ils elles ça cela ce c'est c'était ceci celui celle ceux lui leur y en"),
			joining:    set("et mais alors donc ou bon ben enfin puis oui voilà"),
			bound:      set("parce car qui que dont quoique bien-que tandis"),
			halves:     set("si quand lorsque pendant avant"),
			hanging:    set("et mais ou parce que le la les un une de du des à en dans avec pour par si qui est était très euh"),
			replies:    set("oui non si exactement voilà peut-être bien-sûr absolument"),
			filler:     set("euh heu hum bah"),
			markers:    pairs("tu sais", "vous savez", "tu vois", "vous voyez"),
			self:       set("je j'ai j'étais j'avais j'y me m'a mon ma mes moi nous notre nos"),
			strong:     set("jamais toujours personne rien tout tous toute toutes chaque seul seule seulement dernier dernière premier première"),
		},
		"es": {
			points:  set("él ella ellos ellas eso esto esa ese aquello lo le les"),
			joining: set("y pero entonces o bueno pues así luego sí"),
			bound:   set("porque que quien cual aunque sino"),
			halves:  set("si cuando mientras"),
			hanging: set("y pero o porque el la los las un una de del a en con para por si que es era muy eh"),
			replies: set("sí no claro exacto quizás quizá tal correcto"),
			filler:  set("eh em este mm"),
			markers: pairs("o sea", "es decir", "tú sabes", "usted sabe"),
			self:    set("yo me mi mis mí conmigo nosotros nosotras nos nuestro nuestra nuestros nuestras"),
			strong:  set("nunca jamás siempre nadie nada todo todos toda todas cada solo sólo único última último primera primero"),
		},
		"nl": {
			points:  set("hij zij ze dat dit die deze hem haar hen hun daar daarvan daarmee daarom"),
			joining: set("en maar dus of nou dan ja oké ach"),
			bound:   set("omdat want die dat terwijl hoewel"),
			halves:  set("als wanneer toen voordat nadat"),
			hanging: set("en maar of omdat de het een van te in op aan met voor als dat is was heel uh"),
			replies: set("ja nee precies zeker misschien klopt natuurlijk"),
			filler:  set("uh eh uhm hm"),
			markers: pairs("weet je", "weet u", "of zo"),
			self:    set("ik me mij mijn m'n wij we ons onze"),
			strong:  set("nooit altijd niemand iedereen niets alles elke ieder alleen enige laatste eerste heel"),
		},
		"it": {
			points:  set("lui lei loro questo questa quello quella ciò essi esse"),
			joining: set("e ma allora quindi o beh dunque poi sì ecco"),
			bound:   set("perché che cui quale mentre sebbene"),
			halves:  set("se quando mentre"),
			hanging: set("e ma o perché il lo la i gli le un una di del della a in con per se che è era molto eh"),
			replies: set("sì no certo esatto forse appunto"),
			filler:  set("eh ehm mm"),
			markers: pairs("voglio dire", "per dire"),
			self:    set("io mi me mio mia miei mie noi ci nostro nostra nostri nostre"),
			strong:  set("mai sempre nessuno niente nulla tutto tutti tutta tutte ogni solo unico ultimo ultima primo prima"),
		},
		"pt": {
			points:  set("ele ela eles elas isso isto aquilo esse essa este esta lhe"),
			joining: set("e mas então ou bem pois depois sim olha"),
			bound:   set("porque que quem qual embora enquanto"),
			halves:  set("se quando enquanto"),
			hanging: set("e mas ou porque o a os as um uma de do da em com para por se que é era muito eh"),
			replies: set("sim não claro exato talvez certo"),
			filler:  set("eh ahn hm"),
			markers: pairs("quer dizer", "tu sabes", "você sabe"),
			self:    set("eu me mim meu minha meus minhas nós nos nosso nossa nossos nossas"),
			strong:  set("nunca jamais sempre ninguém nada tudo todos todas toda cada só único última último primeira primeiro"),
		},
	}
})
