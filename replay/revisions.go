package replay

import (
	"fmt"
	"slices"
	"sort"

	"stopledger/events"
)

// standing is an original event with what corrections made of it.
type standing struct {
	event    events.Event // the original
	body     events.Body  // what stands
	when     events.When
	voided   bool
	revision events.ID // the correction that stands, or the event's own id
}

// revision is one node in the tree of corrections of one target.
type revision struct {
	event events.Event
	base  events.ID
	depth int // 0: rests on nothing known, and waits
	state int // of the depth's working out
}

// history is the tree of corrections of one target.
type history struct {
	target events.Event
	nodes  map[events.ID]*revision
	order  []events.ID // sorted
}

const (
	untouched = iota
	working
	done
)

// correctable reports which types are originals; corrections themselves are
// corrected by going on from them, never by targeting them.
func isCorrection(b events.Body) bool {
	switch b.(type) {
	case *events.Amended, *events.Voided, *events.Reassigned:
		return true
	}
	return false
}

// settle works out what stands of every original of one chart. The events must
// be sorted by id.
func settle(list []events.Event) ([]standing, []Finding) {
	originals := make(map[events.ID]*history)
	var findings []Finding
	var order []events.ID
	for _, e := range list {
		if e.Newer() {
			findings = append(findings, found(NewerVersion, e.ID, fmt.Sprintf("event %s is of version %d; this program knows %d: kept, not counted", e.ID, e.V, events.Version)))
			continue
		}
		if !isCorrection(e.Body) {
			originals[e.ID] = &history{target: e, nodes: map[events.ID]*revision{}}
			order = append(order, e.ID)
		}
	}
	for _, e := range list {
		findings = append(findings, attach(originals, e)...)
	}
	out := make([]standing, 0, len(order))
	for _, id := range order {
		s, f := originals[id].stand()
		out = append(out, s)
		findings = append(findings, f...)
	}
	return out, findings
}

// attach hangs a correction on its target's tree.
func attach(originals map[events.ID]*history, e events.Event) []Finding {
	hang := func(target, base events.ID) []Finding {
		h := originals[target]
		if h == nil {
			return []Finding{found(WaitingCorrection, e.ID, fmt.Sprintf("a correction waits for event %s, which is not here", target))}
		}
		h.nodes[e.ID] = &revision{event: e, base: base}
		h.order = append(h.order, e.ID)
		return nil
	}
	switch b := e.Body.(type) {
	case *events.Amended:
		return hang(b.Target, b.Base)
	case *events.Voided:
		return hang(b.Target, b.Base)
	case *events.Reassigned:
		var findings []Finding
		for i, target := range b.Targets {
			if !slices.Contains(b.Targets[:i], target) {
				findings = append(findings, hang(target, "")...)
			}
		}
		return findings
	}
	return nil
}

// stand finds the deepest leaf of the tree, ties by the greater id, and what it
// says.
func (h *history) stand() (standing, []Finding) {
	root := standing{event: h.target, body: h.target.Body, when: h.target.When, revision: h.target.ID}
	if len(h.order) == 0 {
		return root, nil
	}
	sort.Slice(h.order, func(i, j int) bool { return h.order[i] < h.order[j] })
	var findings []Finding
	best, deepest := events.ID(""), 0
	tied := false
	for _, id := range h.order {
		d := h.depthOf(id)
		switch {
		case d == 0:
			findings = append(findings, found(WaitingCorrection, id, fmt.Sprintf("a correction of %s rests on revision %s, which is not here", h.target.ID, h.nodes[id].base)))
		case d > deepest:
			best, deepest, tied = id, d, false
		case d == deepest:
			best, tied = id, true
		}
	}
	if best == "" {
		return root, findings
	}
	if tied {
		findings = append(findings, found(CorrectionTie, h.target.ID, fmt.Sprintf("event %s was corrected twice from the same revision; the later one, %s, stands", h.target.ID, best)))
	}
	s, f := h.build(best, root)
	return s, append(findings, f...)
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
	case n.base == h.target.ID:
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
	best, deepest := h.target.ID, 0
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
func (h *history) build(id events.ID, root standing) (standing, []Finding) {
	var chain []events.ID
	for at := id; at != h.target.ID; at = h.nodes[at].base {
		chain = append(chain, at)
	}
	s := root
	var findings []Finding
	for _, at := range slices.Backward(chain) {
		if f := s.apply(h.nodes[at].event); f != nil {
			findings = append(findings, *f)
		}
	}
	return s, findings
}

// apply lets one correction change what stands.
func (s *standing) apply(e events.Event) *Finding {
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
