package synth

import "stopledger/events"

// tally counts actions, the stops among their chances and the points of these.
type tally struct {
	n, stops, points int
}

func (t tally) stop() float64 { return float64(t.stops) / float64(t.n) }
func (t tally) mean() float64 { return float64(t.points) / float64(t.n) }

func (t *tally) add(stop bool, points int) {
	t.n++
	t.stops += one(stop)
	t.points += points
}

// measured is what games played for the purpose have shown.
type measured struct {
	cells    [kindCount][3]tally
	players  map[*player]*[kindCount]tally
	whistled [kindCount][3]int // actions whose label nobody doubts
	scored   int               // held readings, not whistled, in chances that scored
}

// measureResults plays games of the same league on a stream of their own.
func (s *Season) measureResults(games int) *measured {
	m := &measured{players: make(map[*player]*[kindCount]tally)}
	for _, t := range s.teams {
		for _, p := range t.players {
			m.players[p] = new([kindCount]tally)
		}
	}
	for i := range games {
		p := s.plan(i)
		p.stream = streamMeasure
		g := s.playGame(p)
		for _, moment := range g.moments {
			if moment.chance != nil {
				m.count(moment.chance, g.rules)
			}
		}
	}
	return m
}

func (m *measured) count(c *chance, r events.Rules) {
	if c.end.End == events.PeriodEnd {
		return
	}
	points := c.points(r)
	side, _, _ := after(c)
	for _, a := range c.asks {
		if a.reading == noReading || a.defender == nil {
			continue
		}
		stop := points == 0 && side == events.Defence
		switch a.kind {
		case contest:
			stop = points == 0
		case boxOut:
			stop = side == events.Defence
		}
		m.cells[a.kind][a.reading].add(stop, points)
		m.players[a.defender][a.kind].add(stop, points)
		if a.outcome == events.Fouled || a.outcome == events.ChargeDrawn {
			m.whistled[a.kind][a.reading]++
		} else if a.reading == held && points > 0 {
			m.scored++
		}
	}
}

func (m *measured) results() []ResultTruth {
	var out []ResultTruth
	for k := range m.cells {
		for r, t := range m.cells[k] {
			out = append(out, ResultTruth{kindWord(k), readingWords[r], t.stop(), t.mean(), t.n})
		}
	}
	return out
}

func (m *measured) charters() []CharterTruth {
	var out []CharterTruth
	for _, h := range secondCharters {
		out = append(out, m.charter("second", h))
	}
	return append(out, m.charter("focus", focusCharter))
}

// charter works out how alike this charter and the main chart would label what
// both have seen. The main chart is right wherever it is clear.
func (m *measured) charter(chart events.Token, h habits) CharterTruth {
	t := CharterTruth{
		Charter: h.charter, Chart: chart, Labels: h.labels, Hindsight: h.hindsight, Blind: h.blind,
		OtherKind: h.otherKind, Missed: h.missed, Skipped: h.skipped, Offset: h.offset, Jitter: h.jitter,
	}
	var clear, sure [3]float64 // actions by true reading: open to doubt, whistled
	var kinds [kindCount][kindCount]float64
	for k := range kindCount {
		for r := range 3 {
			w := float64(m.whistled[k][r])
			open := float64(m.cells[k][r].n) - w
			clear[r] += open
			sure[r] += w
			kinds[k][k] += w + open*(1-h.otherKind)
			kinds[k][neighbour[k]] += open * h.otherKind
		}
	}
	hindsight := h.hindsight * (1 - h.blind) * float64(m.scored) / clear[held]
	for c := range t.Labels[held] {
		t.Labels[held][c] *= 1 - hindsight
	}
	t.Labels[held][broken] += hindsight
	var joint [3][3]float64
	for r := range 3 {
		joint[r][r] = sure[r]
		for c := range 3 {
			joint[r][c] += clear[r] * t.Labels[r][c]
		}
	}
	at := func(i, j int) float64 { return joint[i][j] }
	t.Kappa = kappa(3, at, func(d float64) float64 { return float64(one(d != 0)) })
	t.Linear = kappa(3, at, func(d float64) float64 { return max(d, -d) })
	t.Quadratic = kappa(3, at, func(d float64) float64 { return d * d })
	t.KindKappa = kappa(kindCount, func(i, j int) float64 { return kinds[i][j] }, func(d float64) float64 { return float64(one(d != 0)) })
	return t
}

// kappa is Cohen's (1960), with disagreement weights as in Cohen (1968): one
// minus the weighted disagreement over that expected by chance.
func kappa(n int, joint func(i, j int) float64, weight func(distance float64) float64) float64 {
	rows, columns := make([]float64, n), make([]float64, n)
	var sum, seen, expected float64
	for i := range n {
		for j := range n {
			v := joint(i, j)
			rows[i] += v
			columns[j] += v
			sum += v
			seen += v * weight(float64(i-j))
		}
	}
	for i := range n {
		for j := range n {
			expected += rows[i] * columns[j] / sum * weight(float64(i-j))
		}
	}
	return 1 - seen/expected
}
