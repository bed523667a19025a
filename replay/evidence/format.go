package evidence

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"stopledger/replay/film"
)

// Formats lists the clip formats by their names.
func Formats() []string { return []string{"vtt", "edl", "otio", "links", "script"} }

// File is a clip list in a format, under a name of its own.
type File struct {
	Name  string `json:"name"`
	Media string `json:"media"` // its media type
	Text  string `json:"text"`
}

// Write puts a reel into a format. An edit list of more events than the format
// holds comes in several files. The rate is needed for edl, otio and script.
func Write(format string, r Reel, rate film.Rate) ([]File, error) {
	o := film.Options{Title: r.Match, Rate: rate}
	if r.Invented {
		o.Mark = Mark
	}
	name := fmt.Sprintf("%s-%s", r.Game, r.Film)
	one := func(ending, media string, write func(io.Writer, film.List, film.Options) error) ([]File, error) {
		var b bytes.Buffer
		if err := write(&b, r.List, o); err != nil {
			return nil, fmt.Errorf("write clips of %s: %w", name, err)
		}
		return []File{{name + ending, media, b.String()}}, nil
	}
	switch format {
	case "vtt":
		return one(".vtt", "text/vtt", film.WriteWebVTT)
	case "otio":
		return one(".otio", "application/json", film.WriteOTIO)
	case "links":
		return one(".uris.txt", "text/uri-list", film.WriteLinks)
	case "script":
		return one(".cut.sh", "text/x-shellscript", film.WriteCutScript)
	case "edl":
		parts, err := film.EDL(r.List, o)
		if err != nil {
			return nil, fmt.Errorf("write clips of %s: %w", name, err)
		}
		files := make([]File, len(parts))
		for i, text := range parts {
			files[i] = File{name + ".edl", "text/plain", text}
			if len(parts) > 1 {
				files[i].Name = fmt.Sprintf("%s-%d.edl", name, i+1)
			}
		}
		return files, nil
	}
	return nil, fmt.Errorf("clip format %q: want one of %s", format, strings.Join(Formats(), ", "))
}

// NeedsRate reports whether a format counts frames.
func NeedsRate(format string) bool { return format == "edl" || format == "otio" || format == "script" }
