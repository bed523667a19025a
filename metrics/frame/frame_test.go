package frame_test

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"stopledger/events"
	"stopledger/metrics/frame"
	"stopledger/replay"
)

func season(t *testing.T) *replay.Columns {
	t.Helper()
	rules, _ := events.RuleSet("nba")
	chance := events.ID("0198f0c2-0000-7000-8000-000000000002")
	bodies := []events.Body{
		&events.GameOpened{Rules: rules, Home: events.Team{ID: "hbr"}, Away: events.Team{ID: "mil"}, Players: []events.Player{{ID: "mil-12", Team: "mil", Role: "wing"}}},
		&events.ChanceBegan{Offence: "hbr", Origin: "make"},
		&events.Action{Chance: chance, Kind: "chase", Defender: "mil-12", Outcome: "hit", Details: events.Details{"why": {"saw-late", "feet"}}, Spot: &events.Spot{X: 3, Y: 4}},
		&events.Action{Chance: chance, Kind: "contest", Outcome: "open"},
		&events.ChanceEnded{Chance: chance, End: "made-2"},
	}
	var list []events.Event
	for i, b := range bodies {
		e := events.Event{V: 1, ID: events.ID("0198f0c2-0000-7000-8000-00000000000" + string(rune('1'+i))), Game: "g1", Chart: "main", Charter: "ana", Pad: "p1",
			N: int64(i + 1), When: events.At(1, 700), Type: b.Type(), Body: b}
		if err := e.Seal(); err != nil {
			t.Fatal(err)
		}
		list = append(list, e)
	}
	people := []events.Person{{ID: "mil-12", HeightCM: events.Measure{Value: 201, How: "listed"}}}
	return replay.Join([]*replay.Columns{replay.GameColumns(replay.FoldGame("g1", list))}, people)
}

func TestCSV(t *testing.T) {
	f := frame.Of(season(t), frame.Column{Name: "stop", Type: frame.Truth, Cell: func(row int) any { return row == 1 }})
	f.Mark = "invented"
	var b bytes.Buffer
	if err := f.WriteCSV(&b); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	first := map[string]string{}
	for i, name := range rows[0] {
		first[name] = rows[1][i]
	}
	for name, want := range map[string]string{
		"game_id": "g1", "action_kind": "chase", "action_why": "saw-late; feet", "action_distance": "5", "chance_points": "2",
		"defender_role": "wing", "defender_height_cm": "201", "opponent_id": "", "chance_clock": "700", "action_first_break": "true", "stop": "false", "notice": "invented",
	} {
		if first[name] != want {
			t.Errorf("%s = %q, want %q", name, first[name], want)
		}
	}
	if len(rows) != 3 || !strings.Contains(f.Describe(), "`defender_wingspan_cm`") {
		t.Errorf("%d rows", len(rows))
	}
}

// Every cell of the Parquet file reads back as the CSV's.
func TestParquetReadsBack(t *testing.T) {
	f := frame.Of(season(t))
	f.Mark = "invented"
	var b bytes.Buffer
	if err := f.WriteParquet(&b); err != nil {
		t.Fatal(err)
	}
	file, err := parquet.OpenFile(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	if notice, ok := file.Lookup("notice"); !ok || notice != "invented" {
		t.Errorf("notice = %q", notice)
	}
	at := map[string]frame.Column{}
	for _, c := range f.Columns {
		at[c.Name] = c
	}
	fields := file.Schema().Fields()
	if len(fields) != len(f.Columns)+1 {
		t.Errorf("%d columns, want %d and the notice", len(fields), len(f.Columns))
	}
	rows := make([]parquet.Row, 8)
	reader := file.RowGroups()[0].Rows()
	defer reader.Close()
	n, _ := reader.ReadRows(rows)
	if n != f.Rows {
		t.Fatalf("%d rows, want %d", n, f.Rows)
	}
	for row := range n {
		for i, v := range rows[row] {
			name := fields[i].Name()
			if name == "notice" {
				continue
			}
			if got, want := cellOf(v), at[name].Cell(row); got != want {
				t.Errorf("row %d %s = %v, want %v", row, name, got, want)
			}
		}
	}
}

func cellOf(v parquet.Value) any {
	switch {
	case v.IsNull():
		return nil
	case v.Kind() == parquet.Double:
		return v.Double()
	case v.Kind() == parquet.Boolean:
		return v.Boolean()
	case v.Kind() == parquet.Int64:
		return v.Int64()
	}
	return string(v.ByteArray())
}
