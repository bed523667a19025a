package pooled

import (
	"math"
	"math/rand/v2"
	"testing"
)

// someMore adds a few trials for some groups, one of them new.
func someMore(d Data, groups int) Data {
	out := d
	out.Own = append(append([]int{}, d.Own...), 0)
	out.Cells = append([]Cell{}, d.Cells...)
	for i := range groups {
		g := (i * 37) % len(d.Own)
		if i == 0 {
			g = len(d.Own)
		}
		for k := range d.Items {
			out.Cells = append(out.Cells, Cell{Group: g, Item: k, Opposing: (i + k) % d.Opposing, Condition: i % d.Conditions, Successes: float64((i + k) % 2), Trials: 1})
		}
	}
	return out
}

// A refit must be what a fit from scratch is.
func TestRefitIsAFit(t *testing.T) {
	data := size{60, 4, 3, 2, 1, 2}.drawAt(rand.New(rand.NewPCG(3, 9)), [families]float64{0.2, 0.4, 0.3, 0.2, 0.2}).data
	first, err := Fit(data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	next := someMore(data, 10)
	warm, err := Fit(next, Options{Start: first})
	if err != nil {
		t.Fatal(err)
	}
	if warm.hyper != first.hyper {
		t.Fatal("fitted from scratch")
	}
	cold, err := Fit(next, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "scale of groups", warm.Scales().Group, cold.Scales().Group, 0.01)
	near(t, "scale of groups by item", warm.Scales().GroupByItem, cold.Scales().GroupByItem, 0.01)
	w, c := warm.Draw(2000, 5), cold.Draw(2000, 5)
	for _, g := range []int{0, 14, 37, 60} {
		for k := range 3 {
			a, b := Summarise(w.Group(g).Seen(k, k)), Summarise(c.Group(g).Seen(k, k))
			near(t, "mean", a.Mean, b.Mean, 0.05*b.SD)
			near(t, "sd", a.SD/b.SD, 1, 0.04)
		}
	}
	// The same nodes, solved from scratch.
	e := cold.engine
	ws := e.newWorkspace(1)
	for i := range 3 {
		p := e.newPoint()
		e.setScales(p, warm.nodes[i].z)
		if _, err := e.mode(p, ws, nearMode); err != nil {
			t.Fatal(err)
		}
		if _, err := e.closest(p, ws, 1e-6); err != nil {
			t.Fatal(err)
		}
		near(t, "evidence", warm.nodes[i].value, p.value, 0.05)
		for j := range p.border {
			near(t, "border", p.load[j]*warm.nodes[i].border[j], p.load[j]*p.border[j], 0.003)
		}
		for j := range p.row {
			near(t, "row", p.s[famAlpha]*warm.nodes[i].row[j], p.s[famAlpha]*p.row[j], 0.005)
		}
	}
}

func TestRefitGivesWayToAFit(t *testing.T) {
	data := size{20, 3, 2, 2, 1, 4}.drawAt(rand.New(rand.NewPCG(3, 8)), [families]float64{0.2, 0.4, 0.3, 0.2, 0.2}).data
	first, err := Fit(data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	other := data
	other.Conditions++
	other.Cells = append([]Cell{{Group: 1, Item: 1, Condition: data.Conditions, Successes: 1, Trials: 3}}, data.Cells...)
	for name, next := range map[string]Data{"another condition": other, "most groups changed": someMore(data, 8)} {
		fit, err := Fit(next, Options{Start: first})
		if err != nil {
			t.Fatal(err)
		}
		if fit.hyper == first.hyper {
			t.Errorf("%s: refitted", name)
		}
	}
	same, err := Fit(data, Options{Start: first})
	if err != nil {
		t.Fatal(err)
	}
	for i, w := range same.weight {
		if math.Abs(w-first.weight[i]) > 0.02 {
			t.Errorf("nothing changed, but node %d weighs %.4f for %.4f", i, w, first.weight[i])
		}
	}
}
