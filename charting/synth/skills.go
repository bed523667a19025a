package synth

import "stopledger/events"

const kindCount = 12

// Kinds as indices, in the vocabulary's order.
const (
	drive = iota
	deny
	post
	ballScreen
	coverage
	chase
	closeout
	contest
	gapHelp
	rotation
	boxOut
	transition
)

// reading as an index: held, even, broken.
const (
	held = iota
	even
	broken
)

var readingWords = [3]events.Reading{events.Held, events.Even, events.Broken}

func kindWord(k int) events.Kind { return events.Kinds[k].Kind }

// scheme is how a team defends.
type scheme struct {
	base      events.Base
	principle events.Principle
	pressure  events.Pressure
}

func (s scheme) zone() bool { return s.base == "zone-2-3" || s.base == "zone-3-2" }

// teamSchemes are each team's first and second scheme.
var teamSchemes = [teamCount][2]scheme{
	{{"man", "gap", "none"}, {"zone-2-3", events.Unknown, "none"}},
	{{"man", "denial", "full"}, {"man", "gap", "none"}},
	{{"man", "switch-all", "none"}, {"zone-2-3", events.Unknown, "three-quarter"}},
	{{"man", "switch-all", "none"}, {"man", "no-middle", "none"}},
	{{"man", "no-middle", "none"}, {"man", "switch-all", "none"}},
	{{"zone-2-3", events.Unknown, "none"}, {"man", "gap", "three-quarter"}},
	{{"man", "gap", "none"}, {"zone-3-2", events.Unknown, "half-court-trap"}},
	{{"man", "denial", "none"}, {"man", "gap", "full"}},
}

// effects are the league's true log-odds; see the package comment.
type effects struct {
	mu    [kindCount]float64
	even  [kindCount]float64               // share of even readings
	rho   [3][kindCount]float64            // own role
	gamma [3][kindCount]float64            // opponent's role
	delta map[schemeKey][kindCount]float64 // base and principle
	push  [kindCount][3]float64            // what a reading adds to the offence's advantage
}

type schemeKey struct {
	base      events.Base
	principle events.Principle
}

func (s scheme) key() schemeKey { return schemeKey{s.base, s.principle} }

// All of the numbers below are invented. Their signs follow what coaches say.
var centre = effects{
	//                   drive  deny  post  b-scr  cov   chase close cont  gap   rot   box   trans
	mu:   [kindCount]float64{0.45, 0.75, 0.50, 0.40, 0.40, 0.40, 0.40, 0.80, 0.80, 0.50, 1.00, 0.60},
	even: [kindCount]float64{0.22, 0.20, 0.20, 0.18, 0.14, 0.20, 0.16, 0.18, 0.15, 0.18, 0.20, 0.16},
	rho: [3][kindCount]float64{
		guard: {0.15, 0.05, -0.35, 0.15, -0.15, 0.15, 0.05, -0.15, 0.05, -0.10, -0.25, 0.10},
		wing:  {0.05, 0.00, 0.00, 0.00, 0.00, 0.05, 0.10, 0.00, 0.00, 0.00, 0.00, 0.05},
		big:   {-0.40, -0.05, 0.20, -0.35, 0.10, -0.35, -0.25, 0.20, -0.05, 0.15, 0.25, -0.20},
	},
	gamma: [3][kindCount]float64{
		guard: {-0.25, 0.00, 0.30, -0.15, -0.05, -0.10, -0.05, 0.05, 0.00, 0.00, 0.25, -0.10},
		wing:  {0.00, 0.00, 0.05, 0.00, 0.00, 0.00, -0.05, 0.00, 0.00, 0.00, 0.00, 0.00},
		big:   {0.35, 0.00, -0.20, 0.20, 0.05, 0.15, 0.15, -0.05, 0.00, -0.05, -0.25, 0.10},
	},
	delta: map[schemeKey][kindCount]float64{
		{"man", "gap"}:               {0.25, -0.15, 0.05, 0.00, 0.05, 0.00, -0.25, 0.00, 0.25, 0.05, 0.05, 0.00},
		{"man", "denial"}:            {-0.20, 0.35, 0.05, 0.00, -0.05, 0.05, 0.15, 0.00, -0.25, -0.10, 0.00, 0.00},
		{"man", "no-middle"}:         {0.10, 0.00, 0.00, 0.10, 0.05, 0.00, -0.05, 0.00, 0.00, -0.10, 0.00, 0.00},
		{"man", "switch-all"}:        {-0.05, 0.05, -0.20, 0.30, 0.25, 0.30, 0.05, 0.00, -0.05, 0.00, -0.15, 0.00},
		{"zone-2-3", events.Unknown}: {0.20, -0.05, 0.05, 0.05, 0.05, -0.10, -0.30, -0.05, 0.15, 0.05, -0.35, 0.05},
		{"zone-3-2", events.Unknown}: {0.10, -0.05, -0.15, 0.05, 0.05, -0.05, -0.10, -0.05, 0.10, -0.05, -0.30, 0.05},
	},
	push: [kindCount][3]float64{
		drive: {-0.25, 0.15, 0.85}, deny: {-0.15, 0.10, 0.70}, post: {-0.20, 0.15, 0.60},
		ballScreen: {-0.20, 0.10, 0.50}, coverage: {-0.20, 0.10, 0.50}, chase: {-0.20, 0.15, 0.55},
		closeout: {-0.35, 0.15, 0.60}, contest: {-0.35, 0.05, 0.55}, gapHelp: {-0.25, 0.05, 0.40},
		rotation: {-0.35, 0.00, 0.45}, boxOut: {0, 0, 0}, transition: {-0.30, 0.15, 0.80},
	},
}

// How far seasons of different seeds differ from the centre, and players from
// one another: standard deviations in log-odds.
const (
	sdLeague   = 0.06
	sdAlpha    = 0.30
	sdBeta     = 0.25
	sdPresence = 0.06
)

func (s *Season) makeEffects(d dice) {
	e := centre
	jitter := func(row *[kindCount]float64) {
		for k := range row {
			row[k] += d.normal(0, sdLeague)
		}
	}
	jitter(&e.mu)
	for r := range 3 {
		jitter(&e.rho[r])
		jitter(&e.gamma[r])
	}
	e.delta = make(map[schemeKey][kindCount]float64)
	for _, key := range schemeKeys() {
		row := centre.delta[key]
		jitter(&row)
		e.delta[key] = row
	}
	s.effects = e
}

// schemeKeys lists the schemes played in this league, in a fixed order.
func schemeKeys() []schemeKey {
	var keys []schemeKey
	seen := make(map[schemeKey]bool)
	for _, pair := range teamSchemes {
		for _, sc := range pair {
			if !seen[sc.key()] {
				seen[sc.key()] = true
				keys = append(keys, sc.key())
			}
		}
	}
	return keys
}

// train draws a player's skills.
func (s *Season) train(d dice, p *player) {
	p.alpha = d.normal(0, sdAlpha)
	for k := range p.skill {
		p.skill[k] = p.alpha + d.normal(0, sdBeta)
	}
	p.presence = d.normal([]float64{-0.03, 0, 0.06}[p.role], sdPresence)
}

// chances are the probabilities of held, even and broken for a player asked to
// do kind against an opponent of a role. delta is the scheme's part.
func (e *effects) chances(p *player, kind, role int, delta float64) [3]float64 {
	x := e.mu[kind] + e.rho[p.role][kind] + p.skill[kind] + delta
	if role != noRole {
		x += e.gamma[role][kind]
	}
	decided := 1 - e.even[kind]
	h := decided * logistic(x)
	return [3]float64{h, e.even[kind], decided - h}
}
