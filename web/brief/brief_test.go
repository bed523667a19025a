package brief_test

import (
	"strings"
	"testing"

	"stopledger/charting/synth"
	"stopledger/events"
	"stopledger/metrics"
	"stopledger/metrics/definition"
	"stopledger/replay"
	"stopledger/web/brief"
)

func season(t *testing.T) (*metrics.Study, brief.Options) {
	t.Helper()
	o := synth.Defaults()
	o.Games = 8
	s, err := synth.New(o)
	if err != nil {
		t.Fatal(err)
	}
	folded, err := replay.Fold(s.Events())
	if err != nil {
		t.Fatal(err)
	}
	study := metrics.NewStudy(definition.Default(), replay.ColumnsOf(folded, s.People()), metrics.StudyOptions{Games: folded.Games})
	return study, brief.Options{Games: folded.Games, People: s.People(), Position: 7, Filters: []string{"since 2031-10-01"}}
}

// mostCharted is the player with the most actions: rosters also hold men whom
// nobody charted, and for whom no chances can stand.
func mostCharted(t *testing.T, study *metrics.Study) events.Token {
	t.Helper()
	table, err := metrics.Rates(definition.Default(), study.Columns, []string{"defender"})
	if err != nil {
		t.Fatal(err)
	}
	var best metrics.Rate
	for _, r := range table.Groups {
		if r.Key[0] != "" && r.Actions > best.Actions {
			best = r
		}
	}
	return events.Token(best.Key[0])
}

// The order is the order in which a front office reads.
var order = []string{
	"Takes away", "Attack", "Not known yet", "What he could be asked to do", "Kind by kind", "Result, recovery", "Chances to look at",
	"What to watch next", "Definition ball-won", "position 7", "A chart is one person", "INVENTED demo data",
}

func inOrder(t *testing.T, text string) {
	t.Helper()
	at := 0
	for _, part := range order {
		i := strings.Index(text[at:], part)
		if i < 0 {
			t.Errorf("%q is missing, or stands before what it should follow", part)
			continue
		}
		at += i
	}
}

func TestBriefSaysEverythingInOrder(t *testing.T) {
	study, o := season(t)
	player := mostCharted(t, study)
	b, err := brief.Make(study, player, o)
	if err != nil {
		t.Fatal(err)
	}
	var html, md strings.Builder
	if err := b.WriteHTML(&html); err != nil {
		t.Fatal(err)
	}
	if err := b.WriteMarkdown(&md); err != nil {
		t.Fatal(err)
	}
	inOrder(t, strings.ReplaceAll(html.String(), "&#39;", "'"))
	inOrder(t, md.String())
	for _, outside := range []string{"http://", "https://", "<script", "src=", "style=\"", "<link"} {
		if strings.Contains(html.String(), outside) {
			t.Errorf("the page is to stand alone and holds %q", outside)
		}
	}
	if !strings.Contains(html.String(), "since 2031-10-01") {
		t.Errorf("the page does not say what the film was narrowed to")
	}
	if len(b.Evidence) == 0 {
		t.Fatalf("no chances stand for what is said")
	}
	for _, s := range b.Evidence {
		for _, r := range s.Rows {
			if !strings.Contains(md.String(), r.At()) {
				t.Errorf("chance %s is not listed", r.Title())
			}
		}
	}
}

// A name is what somebody typed.
func TestNamesAreText(t *testing.T) {
	study, o := season(t)
	player := study.Players()[0]
	o.People = []events.Person{{ID: player, Name: `<b>"Quick" *Jay*</b>`}}
	b, err := brief.Make(study, player, o)
	if err != nil {
		t.Fatal(err)
	}
	var html, md strings.Builder
	_ = b.WriteHTML(&html)
	_ = b.WriteMarkdown(&md)
	if strings.Contains(html.String(), `<b>"Quick"`) || strings.Contains(md.String(), "<b>") || strings.Contains(md.String(), "*Jay*<") {
		t.Errorf("a name became part of the page:\n%s", md.String()[:200])
	}
}

func TestNobody(t *testing.T) {
	study, o := season(t)
	if _, err := brief.Make(study, "nobody-here", o); err == nil || !strings.Contains(err.Error(), "nobody-here") {
		t.Errorf("a player who is not there: %v", err)
	}
}

// Somebody without film gets a page that says so.
func TestWithoutFilm(t *testing.T) {
	study, o := season(t)
	none := metrics.NewStudy(definition.Default(), replay.Join(nil, nil), metrics.StudyOptions{})
	if _, err := brief.Make(none, study.Players()[0], o); err == nil {
		t.Errorf("an empty ledger has a brief")
	}
}
