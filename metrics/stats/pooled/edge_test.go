package pooled

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// finite fails on anything that must not reach a page.
func finite(t interface{ Fatalf(string, ...any) }, what string, xs ...float64) {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%s: %v", what, x)
		}
	}
}

// Any data within the rules give finite rates strictly inside (0, 1).
func TestAnyDataGiveRates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Data{
			Own:        make([]int, rapid.IntRange(1, 4).Draw(t, "groups")),
			OwnClasses: rapid.IntRange(1, 2).Draw(t, "own"), Items: rapid.IntRange(1, 3).Draw(t, "items"),
			Opposing: rapid.IntRange(1, 2).Draw(t, "opposing"), Conditions: rapid.IntRange(1, 2).Draw(t, "conditions"),
		}
		for g := range d.Own {
			d.Own[g] = rapid.IntRange(0, d.OwnClasses-1).Draw(t, "class")
		}
		for range rapid.IntRange(0, 8).Draw(t, "cells") {
			n := rapid.SampledFrom([]float64{0, 1e-12, 0.3, 1, 7.5, 40, 3000, 1e7}).Draw(t, "n")
			d.Cells = append(d.Cells, Cell{
				Group: rapid.IntRange(0, len(d.Own)-1).Draw(t, "g"), Item: rapid.IntRange(0, d.Items-1).Draw(t, "k"),
				Opposing: rapid.IntRange(0, d.Opposing-1).Draw(t, "r"), Condition: rapid.IntRange(0, d.Conditions-1).Draw(t, "s"),
				Trials: n, Successes: n * rapid.SampledFrom([]float64{0, 0.2, 0.5, 1}).Draw(t, "p"),
			})
		}
		fit, err := Fit(d, Options{})
		if err != nil {
			t.Fatalf("%v", err)
		}
		draws := fit.Draw(50, 3)
		for g := range d.Own {
			m := draws.Group(g)
			for k := range d.Items {
				s := Summarise(m.Seen(k, 0))
				finite(t, "seen", s.Mean, s.SD, s.Q10, s.Q50, s.Q90)
				if !(s.Mean > 0 && s.Mean < 1 && s.Q10 <= s.Q50 && s.Q50 <= s.Q90) {
					t.Fatalf("%+v", s)
				}
				finite(t, "fresh", m.Rate(k, Fresh, Fresh)...)
			}
		}
		finite(t, "new group", draws.NewGroup(0, 0).Rate(0, 0, Fresh)...)
		finite(t, "check", draws.Check.Effective)
		list := fit.Scales().list()
		finite(t, "scales", list[:]...)
	})
}

// Without data everything is the prior's, whose moments are known: the mean of
// the squared half-normal is 0.25, so a rate's log-odds have variance
// 1.5² + 5·0.25.
func TestNoDataIsThePrior(t *testing.T) {
	for name, cells := range map[string][]Cell{"no cells": nil, "no trials": {{}, {Successes: 0, Trials: 0}}} {
		fit, err := Fit(Data{Own: []int{0}, OwnClasses: 1, Items: 1, Opposing: 1, Conditions: 1, Cells: cells}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		s := Summarise(fit.Draw(20000, 1).Group(0).LogOdds(0, 0, 0))
		near(t, name+": mean", s.Mean, 0, 1e-9)
		near(t, name+": variance", s.SD*s.SD, 2.25+1.25, 0.12)
		near(t, name+": scale", fit.Scales().Group, 0.5*math.Sqrt(2/math.Pi), 0.01)
		if len(fit.Warnings()) > 0 {
			t.Errorf("%s: %v", name, fit.Warnings())
		}
	}
	if fit, err := Fit(Data{OwnClasses: 1, Items: 1, Opposing: 1, Conditions: 1}, Options{}); err != nil {
		t.Errorf("no groups: %v", err)
	} else {
		finite(t, "no groups", fit.Draw(10, 1).NewGroup(0, 0).Rate(0, Fresh, Fresh)...)
	}
}

func TestBadDataIsRefused(t *testing.T) {
	good := func() Data {
		return Data{Own: []int{0}, OwnClasses: 1, Items: 1, Opposing: 1, Conditions: 1, Cells: []Cell{{Successes: 1, Trials: 2}}}
	}
	for name, spoil := range map[string]func(*Data){
		"no items":           func(d *Data) { d.Items = 0 },
		"own class":          func(d *Data) { d.Own[0] = 1 },
		"group":              func(d *Data) { d.Cells[0].Group = 1 },
		"item":               func(d *Data) { d.Cells[0].Item = -1 },
		"opposing":           func(d *Data) { d.Cells[0].Opposing = 1 },
		"condition":          func(d *Data) { d.Cells[0].Condition = 1 },
		"NaN trials":         func(d *Data) { d.Cells[0].Trials = math.NaN() },
		"infinite trials":    func(d *Data) { d.Cells[0].Trials = math.Inf(1) },
		"negative trials":    func(d *Data) { d.Cells[0].Trials = -1 },
		"NaN successes":      func(d *Data) { d.Cells[0].Successes = math.NaN() },
		"too many successes": func(d *Data) { d.Cells[0].Successes = 2.1 },
		"offset":             func(d *Data) { d.Cells[0].Offset = math.NaN() },
	} {
		d := good()
		spoil(&d)
		if _, err := Fit(d, Options{}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := Fit(good(), Options{ItemSD: -1}); err == nil {
		t.Error("negative prior sd: no error")
	}
	fit, err := Fit(good(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	m := fit.Draw(10, 1).Group(0)
	for name, part := range map[string]Part{
		"item": {Item: 1, Share: 1}, "opposing": {Opposing: 2, Share: 1}, "condition": {Condition: -2, Share: 1},
		"share": {Share: math.NaN()}, "shift": {Share: 1, Shift: math.Inf(1)}, "shift sd": {Share: 1, ShiftSD: -1},
	} {
		if _, err := m.Mix([]Part{part}); err == nil {
			t.Errorf("mixture with bad %s: no error", name)
		}
	}
	if _, err := m.Average([]Term{{Weight: 0}}); err == nil {
		t.Error("average without weights: no error")
	}
}

// The same seed gives the same bytes, in any order of questions and for any
// number of workers; another seed gives others.
func TestSameSeedSameDraws(t *testing.T) {
	for _, z := range []size{{3, 3, 2, 2, 0.6, 2}, {60, 4, 2, 2, 0.6, 3}} {
		w := z.draw(rand.New(rand.NewPCG(4, 4)))
		ask := func(seed uint64, backwards bool) ([]float64, []SeenCell) {
			fit, err := Fit(w.data, Options{})
			if err != nil {
				t.Fatal(err)
			}
			d := fit.Draw(200, seed)
			if backwards {
				d.Group(2).Rate(1, 0, 0)
				d.NewGroup(0, 3).Rate(0, Fresh, Fresh)
			}
			return d.Group(1).Rate(0, 1, Fresh), d.SeenCells(1 + int(seed)%2)
		}
		a, sa := ask(11, false)
		b, sb := ask(11, true)
		if !reflect.DeepEqual(a, b) || !reflect.DeepEqual(sa, sb) {
			t.Error("the same seed gave other draws")
		}
		if c, _ := ask(12, false); reflect.DeepEqual(a, c) {
			t.Error("another seed gave the same draws")
		}
	}
}

// Cells may come in any order and in pieces.
func TestOrderAndSplittingOfCellsDoNotMatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	w := size{12, 3, 2, 2, 0.7, 3}.draw(rng)
	split := w.data
	split.Cells = nil
	for _, i := range rng.Perm(len(w.data.Cells)) {
		c := w.data.Cells[i]
		half := c
		half.Successes, half.Trials = c.Successes/2, c.Trials/2
		split.Cells = append(split.Cells, half, Cell{Group: c.Group, Item: c.Item}, half)
	}
	a, err := Fit(w.data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Fit(split, Options{})
	if err != nil {
		t.Fatal(err)
	}
	x, y := Summarise(a.Draw(400, 1).Group(5).Seen(1, 1)), Summarise(b.Draw(400, 1).Group(5).Seen(1, 1))
	near(t, "mean", x.Mean, y.Mean, 1e-9)
	near(t, "sd", x.SD, y.SD, 1e-9)
}

// Eighteen batters of Efron and Morris (1975): the pooled rates must do about as
// well against the rest of the season as the James-Stein estimates, whose total
// squared error is 3.5 times smaller than the raw averages' (efron_morris.json).
func TestEfronMorris(t *testing.T) {
	rows := numbers(t, "efron_morris.csv", 1, 12)
	var ref struct {
		Values []struct {
			Name  string
			Value any
		}
	}
	reference(t, "efron_morris.json", &ref)
	var rest []any
	for _, v := range ref.Values {
		if v.Name == "rest-of-season averages p_i as printed, row order of the CSV" {
			rest = v.Value.([]any)
		}
	}
	if len(rest) != len(rows) || len(rows) != 18 {
		t.Fatalf("%d printed averages, %d rows", len(rest), len(rows))
	}
	d := Data{Own: make([]int, 18), OwnClasses: 1, Items: 1, Opposing: 1, Conditions: 1}
	for g, r := range rows {
		d.Cells = append(d.Cells, Cell{Group: g, Successes: r[1], Trials: r[0]})
	}
	fit, err := Fit(d, Options{})
	if err != nil {
		t.Fatal(err)
	}
	draws := fit.Draw(2000, 1)
	var raw, pooled, away, shrunk float64
	for g, r := range rows {
		truth := rest[g].(float64)
		m := Summarise(draws.Group(g).Seen(0, 0)).Mean
		raw += sq(r[4] - truth)
		pooled += sq(m - truth)
		away += sq(r[4] - 0.2654320988)
		shrunk += (m - 0.2654320988) * (r[4] - 0.2654320988)
	}
	near(t, "raw error", raw, 0.0753, 5e-4) // 0.07531695 recomputed, in efron_morris.json
	if ratio := raw / pooled; ratio < 3.0 {
		t.Errorf("pooling divides the squared error by %.2f, James-Stein by 3.53", ratio)
	}
	// The shrink factor of 1977 is .212. Three scales share these data, and their
	// priors ask for some spread, so this model shrinks somewhat less.
	near(t, "shrink factor", shrunk/away, 0.212, 0.12)
}

// Draws of different questions belong together: their moments are those of sums.
func TestDrawsAreJoint(t *testing.T) {
	w := size{40, 3, 2, 2, 0.8, 3}.draw(rand.New(rand.NewPCG(21, 5)))
	fit, err := Fit(w.data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	d := fit.Draw(600, 2)
	m := d.Group(4)
	a, b := m.Rate(0, 0, Fresh), m.Rate(1, 1, 0)
	mix, err := m.Mix([]Part{{Item: 0, Condition: Fresh, Share: 0.25}, {Item: 1, Opposing: 1, Share: 0.75}})
	if err != nil {
		t.Fatal(err)
	}
	average, err := m.Average([]Term{{Item: 0, Condition: Fresh, Weight: 1}, {Item: 1, Opposing: 1, Weight: 3}})
	if err != nil {
		t.Fatal(err)
	}
	for i := range a {
		near(t, "mixture", mix[i], a[i]/4+b[i]*3/4, 1e-12)
		near(t, "average", average[i], mix[i], 1e-12)
	}
	mean, cov := Moments(a, b, mix)
	near(t, "mean", mean[2], mean[0]/4+mean[1]*3/4, 1e-12)
	near(t, "variance", cov[2][2], cov[0][0]/16+cov[1][1]*9/16+cov[0][1]*3/8, 1e-12)
	near(t, "covariance", cov[0][2], cov[0][0]/4+cov[0][1]*3/4, 1e-12)
	s := Summarise(mix)
	near(t, "sd", s.SD*s.SD, cov[2][2], 1e-12)

	// A fresh condition is the same for all groups; new groups differ.
	x, y := d.Group(4).LogOdds(2, 0, Fresh), d.Group(4).LogOdds(2, 0, 0)
	u, v := d.Group(5).LogOdds(2, 0, Fresh), d.Group(5).LogOdds(2, 0, 0)
	for i := range x {
		near(t, "fresh condition", x[i]-y[i], u[i]-v[i], 1e-9)
	}
	n1, n2 := d.NewGroup(0, 1), d.NewGroup(0, 2)
	_, alphas := Moments(n1.alpha, n2.alpha)
	if r := alphas[0][1] / math.Sqrt(alphas[0][0]*alphas[1][1]); math.Abs(r) > 0.2 {
		t.Errorf("two new groups correlate by %.2f", r)
	}
	// A shift moves everybody by one draw.
	shifted, err := m.Mix([]Part{{Item: 1, Opposing: 1, Share: 1, Shift: -0.4, ShiftSD: 0}})
	if err != nil {
		t.Fatal(err)
	}
	for i := range shifted {
		near(t, "shift", shifted[i], sigmoid(m.LogOdds(1, 1, 0)[i]-0.4), 1e-12)
	}
}
