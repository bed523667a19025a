package brief

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"strings"

	"stopledger/metrics"
)

//go:embed brief.css
var style string

//go:embed brief.html
var pageText string

var page = template.Must(template.New("brief").Funcs(template.FuncMap{
	"style":    func() template.CSS { return template.CSS(style) },
	"str":      func(v any) string { return fmt.Sprint(v) },
	"spaced":   spaced,
	"percent":  percent,
	"span":     span,
	"likely":   likely,
	"about":    about,
	"cost":     cost,
	"counts":   counts,
	"acts":     acts,
	"onFilm":   onFilm,
	"capital":  capital,
	"sentence": sentence,
	"short":    short,
	"strip":    strip,
	"film":     film,
	"reason":   reason,
	"broken":   broken,
	"projection": func(p metrics.Projection) template.HTML {
		if p.Against == nil {
			return strip(p.Process, nil)
		}
		return strip(p.Process, &p.Against.Rate)
	},
}).Parse(pageText))

// WriteHTML writes the brief as a page that stands alone: no script, no address
// outside, one style sheet within.
func (b *Brief) WriteHTML(w io.Writer) error { return page.Execute(w, b) }

// StyleSource is what a content security policy must allow in style-src for the
// page of WriteHTML.
func StyleSource() string {
	sum := sha256.Sum256([]byte(style))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// Floor draws where on the floor he held and broke, or nothing.
func (b *Brief) Floor() template.HTML { return b.floor() }

// Lines are the statements between the tables.
func (b *Brief) Lines() []line { return b.lines() }

// sentence begins with a capital and ends with a full stop, once.
func sentence(text string) string {
	text = capital(strings.TrimSpace(text))
	if text == "" || strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}

func short(hash string) string { return hash[:min(12, len(hash))] }
