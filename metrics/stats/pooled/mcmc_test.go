package pooled

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// longRun is a data set with its posterior by long-run MCMC: see
// testdata/stats/mcmc/README.md for the programs and their versions.
type longRun struct {
	data Data
	rows []longRunRow
}

type longRunRow struct {
	what                  string
	group, item, opposing int
	mean, sd              float64
}

func readLongRun(t testing.TB, name string) (out longRun) {
	t.Helper()
	for _, c := range numbers(t, "mcmc/"+name+".csv", 0, 7) {
		at := func(i int) int { return int(c[i]) }
		d := &out.data
		for len(d.Own) <= at(0) {
			d.Own = append(d.Own, 0)
		}
		d.Own[at(0)] = at(1)
		d.OwnClasses, d.Items = max(d.OwnClasses, at(1)+1), max(d.Items, at(2)+1)
		d.Opposing, d.Conditions = max(d.Opposing, at(3)+1), max(d.Conditions, at(4)+1)
		d.Cells = append(d.Cells, Cell{Group: at(0), Item: at(2), Opposing: at(3), Condition: at(4), Successes: c[5], Trials: c[6]})
	}
	f, err := os.Open(testdata("mcmc/" + name + "_posterior.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows[1:] {
		row := longRunRow{what: r[0]}
		row.group, _ = strconv.Atoi(r[1])
		row.item, _ = strconv.Atoi(r[2])
		row.opposing, _ = strconv.Atoi(r[3])
		row.mean, _ = strconv.ParseFloat(r[4], 64)
		row.sd, _ = strconv.ParseFloat(r[5], 64)
		out.rows = append(out.rows, row)
	}
	return out
}

// Means within 0.01 where cells are well filled and 0.02 where they are sparse,
// standard deviations within 10 % and 15 %.
func TestAgainstLongRunMCMC(t *testing.T) {
	for _, c := range []struct {
		name     string
		mean, sd float64
	}{
		{"filled", 0.01, 0.10}, {"sparse", 0.02, 0.15}, {"one", 0.02, 0.15},
		{"three", 0.02, 0.15}, {"middle", 0.02, 0.15}, {"single", 0.02, 0.15}, {"hundred", 0.02, 0.15}, {"wide", 0.02, 0.15},
	} {
		t.Run(c.name, func(t *testing.T) {
			ref := readLongRun(t, c.name)
			fit, err := Fit(ref.data, Options{})
			if err != nil {
				t.Fatal(err)
			}
			draws := fit.Draw(4000, 1)
			worstMean, worstSD := 0.0, 0.0
			var member *Member // rows come group by group
			for _, row := range ref.rows {
				var x []float64
				switch row.what {
				case "seen":
					if member == nil || member.group != row.group {
						member = draws.Group(row.group)
					}
					x = member.Seen(row.item, row.opposing)
				case "mix":
					x = mixOf(t, draws, row.group)
				default:
					continue
				}
				s := Summarise(x)
				worstMean = max(worstMean, math.Abs(s.Mean-row.mean))
				worstSD = max(worstSD, math.Abs(s.SD/row.sd-1))
				near(t, "mean of "+row.name(), s.Mean, row.mean, c.mean)
				near(t, "sd of "+row.name(), s.SD/row.sd, 1, c.sd)
			}
			got := fit.Scales().list()
			t.Logf("%d rows; largest difference of means %.4f, of sds %.1f %%; %+v %v", len(ref.rows), worstMean, 100*worstSD, draws.Check, fit.Warnings())
			for _, row := range ref.rows {
				if row.what == "scale" {
					t.Logf("scale %d: mean %.3f, long run %.3f (sd %.3f)", row.group, got[row.group], row.mean, row.sd)
				}
			}
		})
	}
}

func (r longRunRow) name() string {
	return r.what + " " + strconv.Itoa(r.group) + "," + strconv.Itoa(r.item) + "," + strconv.Itoa(r.opposing)
}

// mixOf is the mixture that the model file defines: half the first item, half the
// last, opposing class 0, a fresh condition; of group 0 or of a new group.
func mixOf(t *testing.T, d *Draws, which int) []float64 {
	data := d.post.engine.layout.data
	m := d.Group(0)
	if which == 1 {
		m = d.NewGroup(data.Own[0], 0)
	}
	x, err := m.Mix([]Part{{Item: 0, Condition: Fresh, Share: 0.5}, {Item: data.Items - 1, Condition: Fresh, Share: 0.5}})
	if err != nil {
		t.Fatal(err)
	}
	return x
}
