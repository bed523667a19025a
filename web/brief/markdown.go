package brief

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

// WriteMarkdown writes the brief as text, in the same order.
func (b *Brief) WriteMarkdown(w io.Writer) error {
	out := bufio.NewWriter(w)
	p := func(format string, args ...any) { fmt.Fprintf(out, format+"\n", args...) }
	p("# %s\n", plain(b.Who()))
	if mark := b.Mark(); mark != "" {
		p("**%s**\n", mark)
	}
	p("%s%s on film\n", with(string(b.Role), ", "), counts(b.Film))
	for _, f := range b.Facts {
		p("- **%s:** %s", about(f.About), plain(f.Text))
	}
	p("\n## What he could be asked to do\n")
	p("| assignment | word | process, 80 %% | field | at least the field | own film | why |\n| --- | --- | --- | --- | --- | --- | --- |")
	for _, a := range b.Assignments {
		field := "–"
		if a.Against != nil {
			field = percent(a.Against.Rate.Mean)
		}
		p("| %s | **%s** | %s (%s) | %s | %s | %s | %s |", spaced(a.Assignment), a.Word, percent(a.Process.Mean), span(a.Process), field, likely(a.Better), percent(a.OwnShare), cell(a.Why))
	}
	p("\n## Kind by kind, what costs most first\n")
	p("| kind | what the film says | points per 100 | sure? |\n| --- | --- | --- | --- |")
	for _, k := range b.Kinds {
		p("| %s | %s | %s | %s |", spaced(string(k.Kind)), cell(k.Text), cost(k.Cost), k.Sure)
	}
	p("\n## Result, recovery, and what nobody tried\n")
	for _, l := range b.lines() {
		p("- **%s:** %s", plain(l.Label), plain(l.Text))
	}
	p("\n## Chances to look at\n")
	for _, s := range b.Evidence {
		p("%s:\n", capital(s.What))
		for _, r := range s.Rows {
			p("- %s, %s, %s: %s; %s. %s", plain(r.Match()), r.At(), r.Score(), plain(acts(r)), r.Ended(), plain(onFilm(r)))
		}
		p("")
	}
	p("## What to watch next\n")
	for _, a := range b.Plan.Assignments {
		p("- **%s:** %s", spaced(a.Assignment), plain(sentence(a.Text)))
	}
	if b.Plan.Text != "" {
		p("%s", plain(b.Plan.Text))
	}
	p("\n---\n\nDefinition %s `%s`; ledger `%s`, position %d; %d games; seed %d.\n", b.Made.Definition, short(b.Made.Hash), short(b.Made.Digest), b.Position, b.Made.Games, b.Made.Seed)
	p("%s", strings.Join(b.Cautions, " "))
	if mark := b.Mark(); mark != "" {
		p("\n**%s**", mark)
	}
	return out.Flush()
}

func with(text, behind string) string {
	if text == "" {
		return ""
	}
	return text + behind
}

// plain keeps Markdown from reading signs in names and tags.
var plainer = strings.NewReplacer("*", `\*`, "_", `\_`, "`", "\\`", "<", "&lt;", "[", `\[`, "\n", " ")

func plain(text string) string { return plainer.Replace(text) }

// cell is plain text within a table.
func cell(text string) string { return strings.ReplaceAll(plain(text), "|", `\|`) }
