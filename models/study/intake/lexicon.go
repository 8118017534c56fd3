package intake

import (
	"strings"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// columnWords are words by which scholars call the columns of our tables, in English,
// German, French, Dutch and Italian, as [plainWord] writes them (common practice, no
// source). A word may be that of several columns: the table that a sheet is settles
// which is meant.
var columnWords = map[string]string{
	"book":       "book ms manuscript shelfmark buch handschrift hs signatur livre manuscrit cote boek signatuur libro manoscritto segnatura codex",
	"page":       "page folio fol f side seite blatt blattseite feuillet folioside bladzijde blad pagina carta c",
	"leaf":       "leaf folio fol f blatt feuillet blad foglio carta",
	"date":       "date day datum tag jour dag data giorno messtag",
	"time":       "time hour uhrzeit zeit uhr heure tijd uur ora",
	"date time":  "datetime timestamp zeitpunkt datumuhrzeit horodatage dateheure tijdstip dataora",
	"instrument": "instrument densitometer device gerat messgerat appareil densitometre toestel apparaat strumento densitometro",
	"observer":   "observer betrachter measuredby lookedby codedby by coder rater judge grader examiner initials name beobachter bearbeiter gemessenvon kurzel observateur mesurepar waarnemer gemetendoor osservatore misuratoda",
	"target":     "target what measuredon ziel messziel was cible objet doel wat bersaglio oggetto",
	"spot":       "spot place stelle messstelle ort endroit emplacement plek plaats punto",
	"tried":      "tried spotstried versuche essais pogingen tentativi",
	"density":    "density dens d value reading dichte schwarzung messwert wert densite valeur mesure dichtheid zwarting waarde meting densita valore misura",
	"excluded":   "excluded reason struck ausgeschlossen grund exclu motif uitgesloten reden escluso motivo",
	"note":       "note notes remark remarks comment bemerkung bemerkungen notiz anmerkung remarque remarques commentaire opmerking opmerkingen nota osservazioni",
	"picture":    "picture miniature illustration bild bilder miniatur enluminure image afbeelding miniatuur miniatura immagine",
	"subject":    "subject shows iconography thema bildthema gegenstand darstellung sujet onderwerp voorstelling soggetto",
	"decoration": "decoration schmuck buchschmuck decor versiering decorazione",
	"blank":      "blank empty leer vide leeg bianca vuota",
	"language":   "language sprache langue taal lingua",
	"quire":      "quire gathering lage cahier katern fascicolo quaderno",
	"state":      "state status zustand etat staat toestand stato",
	"conjugate":  "conjugate gegenblatt conjoint tegenblad coniugato",
	"section":    "section text abschnitt texte tekst testo sezione",
	"kind":       "kind type art sorte textart genre soort tipo genere",
	"set":        "set hours offizium heures getijden ore",
	"office":     "office hore gebetszeit getijde ufficio",
	"extent":     "extent folios leaves umfang foliierung blatter etendue feuillets omvang folia estensione carte",
	"incipit":    "incipit initium textanfang",
	"title":      "title titel titre titolo",
	"short":      "short abbreviation kurztitel sigle siglum afkorting sigla",
	"owner":      "owner besitzer proprietaire possesseur eigenaar bezitter proprietario possessore",
	"place":      "place origin ort entstehungsort lieu origine plaats luogo",
	"material":   "material beschreibstoff support matiere materiaal materiale supporto",
	"floor":      "floor minimum untergrenze plancher ondergrens minimo",
	"ceiling":    "ceiling maximum obergrenze plafond bovengrens massimo",
	"resolution": "resolution step auflosung schritt pas resolutie stap risoluzione passo",
	"part":       "part element region area detail zone teil bildteil bereich partie onderdeel parte",
	"trace":      "trace tracetype feature phenomenon spur spurart merkmal spoor traccia",
	"grade":      "grade degree score rating severity damage abrasion rubbing grad stufe bewertung schaden schadensgrad abrieb degre usure graad slijtage grado usura danno",
	"count":      "count number drops anzahl zahl tropfen nombre gouttes aantal druppels numero gocce",
	"present":    "present presence there vorhanden aanwezig presente",
	"unclear":    "unclear uncertain cannotbetold unklar unsicher incertain onzeker incerto",
	"exposure":   "exposure areaseen surface flache oppervlak superficie",
	"tile":       "tile reference kachel referenz reference tegel referentie piastrella riferimento",
}

// cellWords are words for what our columns take, likewise.
var cellWords = map[string]map[string]string{
	"page": {"tile": tileWords}, // where the tile stands in the place of a page
	"target": {
		"page": "page corner thumbed seite ecke blattecke griffstelle page coin bladzijde hoek pagina angolo",
		"zero": "zero blank untouched margin null nullpunkt leerwert rand blanc zero nul blanco marge zero bianco margine",
		"tile": tileWords,
	},
	"spot": {
		"fixed":   "fixed same fest gleich fixe vast fisso",
		"darkest": "darkest dunkelste dunkelst plusfonce lepluss ombre donkerste ilpiuscuro",
	},
	"state": {
		"lost":    "lost missing fehlt verloren perdu manquant verloren ontbreekt perduto manca",
		"present": "present vorhanden aanwezig presente",
	},
	"picture": truthWords, "blank": truthWords, "present": truthWords,
	"material": {
		"parchment": "parchment vellum pergament parchemin perkament pergamena membr membranaceo",
		"paper":     "paper papier carta chart cartaceo",
	},
}

const tileWords = "tile ceramic keramik ceramique ceramica keramiek reference standard calibration kachel eichung eichplatte etalon campione taratura ijktegel referenz referenzkachel kalibrierung carreau plaquette tegel referentie piastrella riferimento"

var truthWords = map[string]string{
	"yes": "yes y x 1 true ja j wahr oui o vrai si vero",
	"no":  "no n 0 false nein falsch non faux nee onwaar falso",
}

// partWords are words for parts of a page or its picture, and traceWords those for traces
// of use, likewise; those of countedWords are rather counted than graded.
const (
	partWords = "face faces head hand hands foot feet body robe figure frame border arms coatofarms margin initial background saint corner " +
		"gesicht gesichter antlitz kopf hand hande fuss fusse gewand figur rahmen bordure wappen initiale hintergrund heiliger ecke " +
		"visage visages tete main mains pied pieds corps vetement cadre bordure armoiries marge initiale fond coin " +
		"gezicht gezichten hoofd handen voet voeten lichaam lijst rand wapen marge initiaal achtergrond hoek " +
		"volto volti viso testa mano mani piede piedi corpo veste cornice bordo stemma margine iniziale sfondo angolo"
	traceWords = "rubbing rubbed abrasion abraded kissing wear smear smears smudge offset offsets print stain stains flaking loss dirt repair scratch scratches damage touched touching " +
		"abrieb abgerieben reibung beruhrung verwischt verwischung schmiere abklatsch fleck flecken verlust schmutz kratzer schaden " +
		"frottement usure abrasion baisers bavure maculage decharge tache taches perte salissure griffure " +
		"slijtage wrijving veeg vegen afdruk vlek vlekken verlies vuil kras krassen " +
		"sfregamento abrasione sbavatura controstampa macchia macchie perdita sporco graffio graffi " + countedWords
	countedWords = "wax drops waxdrops candlewax fingerprint fingerprints tear tears hole holes sewinghole sewingholes " +
		"wachs wachstropfen tropfen fingerabdruck fingerabdrucke riss risse loch locher nahtloch nahtlocher heftlocher " +
		"cire gouttes gouttesdecire empreinte empreintes dechirure dechirures trou trous troudecouture trousdecouture " +
		"was wasdruppels druppels vingerafdruk vingerafdrukken scheur scheuren gat gaten naaigaten " +
		"cera goccedicera gocce impronta impronte strappo strappi foro fori foridicucitura"
)

// plainWord is a word without accents, capitals, and all that is no letter or figure.
func plainWord(word string) string {
	plain, _, err := transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn))), strings.ToLower(word))
	if err != nil {
		plain = strings.ToLower(word)
	}
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, strings.ReplaceAll(plain, "ß", "ss"))
}

// in tells whether a word is one of a list.
func in(list, word string) bool {
	if word == "" {
		return false
	}
	for _, one := range strings.Fields(list) {
		if one == word {
			return true
		}
	}
	return false
}
