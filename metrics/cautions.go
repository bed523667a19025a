package metrics

// Cautions are what is said wherever a projection is shown, in this order.
var Cautions = []string{
	"A chart is one person's reading of film.",
	"A projection is a probability, not a verdict on a person; it says nothing about health or fitness.",
	"No roster, scholarship or pay decision should rest on it alone.",
	"Charting minors needs their guardians' consent and follows the local data-protection law and the federation's rules.",
	"Competitions may restrict live data leaving the venue; check first.",
}
