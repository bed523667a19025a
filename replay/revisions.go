package replay

import (
	"fmt"
	"slices"
	"strings"

	"stopledger/events"
)

// standing is an original event with what corrections made of it.
type standing struct {
	event    *events.Event // the original
	at       int           // its index among the chart's events
	body     events.Body   // what stands
	when     events.When
	voided   bool
	revision events.ID // the correction that stands, or the event's own id
}

// revision is one node in the tree of corrections of one target.
type revision struct {
	event *events.Event
	base  events.ID
	depth int // 0: rests on nothing known, and waits
	state int // of the depth's working out
}

// history is the tree of corrections of one target.
type history struct {
	target *standing
	nodes  map[events.ID]*revision
	order  []events.ID // sorted
}

const (
	untouched = iota
	working
	done
)

// isCorrection reports whether a body corrects another event. Corrections
// themselves are corrected by going on from them, never by targeting them.
func isCorrection(b events.Body) bool {
	switch b.(type) {
	case *events.Amended, *events.Voided, *events.Reassigned:
		return true
	}
	return false
}

// settle works out what stands of every original of one chart. The events must
// be sorted by id.
func settle(list []*events.Event) ([]standing, []Finding) {
	facts := make([]standing, 0, len(list))
	var corrections []*events.Event
	var findings []Finding
	for i, e := range list {
		switch {
		case e.Newer():
			findings = append(findings, found(NewerVersion, e.ID, fmt.Sprintf("event %s is of version %d; this program knows %d: kept, not counted", e.ID, e.V, events.Version)))
		case isCorrection(e.Body):
			corrections = append(corrections, e)
		default:
			facts = append(facts, standing{event: e, at: i, body: e.Body, when: e.When, revision: e.ID})
		}
	}
	histories, waiting := attach(facts, corrections)
	findings = append(findings, waiting...)
	for i := range facts {
		if h := histories[facts[i].event.ID]; h != nil {
			findings = append(findings, h.stand()...)
		}
	}
	return facts, findings
}

// attach hangs corrections on the trees of their targets.
func attach(facts []standing, corrections []*events.Event) (map[events.ID]*history, []Finding) {
	histories := make(map[events.ID]*history)
	var findings []Finding
	hang := func(e *events.Event, target, base events.ID) {
		h := histories[target]
		if h == nil {
			// Facts are sorted by id, as the events were.
			i, ok := slices.BinarySearchFunc(facts, target, func(s standing, id events.ID) int {
				return strings.Compare(string(s.event.ID), string(id))
			})
			if !ok {
				findings = append(findings, found(WaitingCorrection, e.ID, fmt.Sprintf("a correction waits for event %s, which is not here", target)))
				return
			}
			h = &history{target: &facts[i], nodes: map[events.ID]*revision{}}
			histories[target] = h
		}
		h.nodes[e.ID] = &revision{event: e, base: base}
		h.order = append(h.order, e.ID)
	}
	for _, e := range corrections {
		switch b := e.Body.(type) {
		case *events.Amended:
			hang(e, b.Target, b.Base)
		case *events.Voided:
			hang(e, b.Target, b.Base)
		case *events.Reassigned:
			for i, target := range b.Targets {
				if !slices.Contains(b.Targets[:i], target) {
					hang(e, target, "")
				}
			}
		}
	}
	return histories, findings
}

// stand finds the deepest leaf of the tree, ties by the greater id, and lets it
// change what stands of the target.
func (h *history) stand() []Finding {
	var findings []Finding
	best, deepest := events.ID(""), 0
	tied := false
	for _, id := range h.order {
		d := h.depthOf(id)
		switch {
		case d == 0:
			findings = append(findings, found(WaitingCorrection, id, fmt.Sprintf("a correction of %s rests on revision %s, which is not here", h.target.event.ID, h.nodes[id].base)))
		case d > deepest:
			best, deepest, tied = id, d, false
		case d == deepest:
			best, tied = id, true
		}
	}
	if best == "" {
		return findings
	}
	if tied {
		findings = append(findings, found(CorrectionTie, h.target.event.ID, fmt.Sprintf("event %s was corrected twice from the same revision; the later one, %s, stands", h.target.event.ID, best)))
	}
	return append(findings, h.build(best)...)
}

// depthOf is the length of a revision's chain down to the target. A
// reassignment names no base: it rests on the deepest revision minted before
// it (ids of version 7 sort by time). A chain that never reaches the target,
// or runs in a circle, has depth 0.
func (h *history) depthOf(id events.ID) int {
	n := h.nodes[id]
	switch n.state {
	case done:
		return n.depth
	case working:
		return 0
	}
	n.state = working
	if _, ok := n.event.Body.(*events.Reassigned); ok {
		n.base = h.deepestBefore(id)
	}
	switch {
	case n.base == h.target.event.ID:
		n.depth = 1
	case h.nodes[n.base] != nil:
		if d := h.depthOf(n.base); d > 0 {
			n.depth = d + 1
		}
	}
	n.state = done
	return n.depth
}

func (h *history) deepestBefore(id events.ID) events.ID {
	best, deepest := h.target.event.ID, 0
	for _, other := range h.order {
		if other >= id {
			break
		}
		if d := h.depthOf(other); d >= deepest && d > 0 {
			best, deepest = other, d
		}
	}
	return best
}

// build applies the chain of revisions from the target up to id.
func (h *history) build(id events.ID) []Finding {
	var chain []events.ID
	for at := id; at != h.target.event.ID; at = h.nodes[at].base {
		chain = append(chain, at)
	}
	var findings []Finding
	for _, at := range slices.Backward(chain) {
		if f := h.target.apply(h.nodes[at].event); f != nil {
			findings = append(findings, *f)
		}
	}
	return findings
}

// apply lets one correction change what stands.
func (s *standing) apply(e *events.Event) *Finding {
	s.revision = e.ID
	switch b := e.Body.(type) {
	case *events.Voided:
		s.voided = true
	case *events.Amended:
		s.voided = false
		if b.When != nil {
			s.when = *b.When
		}
		if len(b.Body) == 0 {
			return nil
		}
		body, err := events.DecodeBody(s.event.Type, b.Body)
		if err == nil {
			err = events.CheckBody(body)
		}
		if err != nil {
			f := found(BadCorrection, e.ID, fmt.Sprintf("a correction of %s cannot be read and changes nothing: %v", s.event.ID, err))
			return &f
		}
		s.body = body
	case *events.Reassigned:
		body, changed := reassign(s.body, b.From, b.To)
		s.body = body
		if !changed {
			f := found(NothingReassigned, e.ID, fmt.Sprintf("event %s does not name %s, so nothing was put right there", s.event.ID, b.From))
			return &f
		}
	}
	return nil
}
