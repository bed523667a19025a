package film

import (
	"encoding/json"
	"io"
)

// The objects of an OpenTimelineIO file, as far as a clip list needs them. Each
// carries its schema's name and version in OTIO_SCHEMA, as the file format
// specification asks (opentimelineio.readthedocs.io).
type (
	otioTimeline struct {
		Schema   string    `json:"OTIO_SCHEMA"` // Timeline.1
		Name     string    `json:"name"`
		Start    *otioTime `json:"global_start_time"`
		Tracks   otioGroup `json:"tracks"`
		Metadata any       `json:"metadata"`
	}
	otioGroup struct { // Stack.1, or Track.1 with a kind
		Schema   string     `json:"OTIO_SCHEMA"`
		Name     string     `json:"name"`
		Kind     string     `json:"kind,omitempty"`
		Range    *otioRange `json:"source_range"`
		Effects  []any      `json:"effects"`
		Markers  []any      `json:"markers"`
		Enabled  bool       `json:"enabled"`
		Children []any      `json:"children"`
		Metadata any        `json:"metadata"`
	}
	otioItem struct { // Clip.2, or Gap.1 without media
		Schema   string               `json:"OTIO_SCHEMA"`
		Name     string               `json:"name"`
		Range    *otioRange           `json:"source_range"`
		Effects  []any                `json:"effects"`
		Markers  []any                `json:"markers"`
		Enabled  bool                 `json:"enabled"`
		Media    map[string]otioMedia `json:"media_references,omitempty"`
		Active   string               `json:"active_media_reference_key,omitempty"`
		Metadata any                  `json:"metadata"`
	}
	otioMedia struct {
		Schema    string     `json:"OTIO_SCHEMA"` // ExternalReference.1
		Name      string     `json:"name"`
		URL       string     `json:"target_url"`
		Available *otioRange `json:"available_range"`
		Bounds    *struct{}  `json:"available_image_bounds"`
		Metadata  any        `json:"metadata"`
	}
	otioRange struct {
		Schema   string   `json:"OTIO_SCHEMA"` // TimeRange.1
		Start    otioTime `json:"start_time"`
		Duration otioTime `json:"duration"`
	}
	otioTime struct {
		Schema string  `json:"OTIO_SCHEMA"` // RationalTime.1
		Value  float64 `json:"value"`       // frames
		Rate   float64 `json:"rate"`        // frames a second
	}
)

// otioNote is what the list adds under its own key in an object's metadata.
type otioNote struct {
	Stopledger struct {
		Note  string  `json:"note,omitempty"`
		Doubt float64 `json:"doubt_seconds,omitempty"`
		Mark  string  `json:"mark,omitempty"`
	} `json:"stopledger"`
}

const otioMediaKey = "DEFAULT_MEDIA"

// WriteOTIO writes the clips as an OpenTimelineIO timeline (.otio) of one video
// track. The clips follow one another, or stay at their film times with gaps
// between them where [Options.InPlace] asks for it. Doubt, note and mark go into
// the metadata, the mark into the timeline's name as well.
func WriteOTIO(w io.Writer, l List, o Options) error {
	if err := l.check(); err != nil {
		return err
	}
	if err := o.Rate.valid(); err != nil {
		return err
	}
	video := group("Track.1", "V1", o.otioItems(l))
	video.Kind = "Video"
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	out.SetIndent("", "  ")
	return out.Encode(otioTimeline{
		Schema: "Timeline.1", Name: o.heading(l), Metadata: o.otioNote(Clip{}),
		Tracks: group("Stack.1", "tracks", []any{video}),
	})
}

func (o Options) otioItems(l List) []any {
	var items []any
	var played int64
	for i, c := range l.Clips {
		in, out := l.frames(c, o.Rate)
		if o.InPlace {
			in = max(in, played) // hand-made lists may overlap by a frame
			out = max(out, in+1)
			if in > played {
				items = append(items, item("Gap.1", "", o.Rate.span(0, in-played)))
			}
			played = out
		}
		clip := item("Clip.2", title(i+1, c), o.Rate.span(in, out))
		clip.Active, clip.Metadata = otioMediaKey, o.otioNote(c)
		clip.Media = map[string]otioMedia{otioMediaKey: o.otioMedia(l)}
		items = append(items, clip)
	}
	return items
}

func (o Options) otioMedia(l List) otioMedia {
	m := otioMedia{Schema: "ExternalReference.1", Name: oneLine(l.Name), URL: address(l.Name), Metadata: struct{}{}}
	if l.Length > 0 {
		m.Available = o.Rate.span(0, max(1, o.Rate.Frame(l.Length)))
	}
	return m
}

func (o Options) otioNote(c Clip) otioNote {
	var n otioNote
	n.Stopledger.Note, n.Stopledger.Doubt, n.Stopledger.Mark = oneLine(c.Note), c.Doubt, oneLine(o.Mark)
	return n
}

func group(schema, name string, children []any) otioGroup {
	return otioGroup{Schema: schema, Name: name, Effects: []any{}, Markers: []any{}, Enabled: true, Children: children, Metadata: struct{}{}}
}

func item(schema, name string, r *otioRange) otioItem {
	return otioItem{Schema: schema, Name: name, Range: r, Effects: []any{}, Markers: []any{}, Enabled: true, Metadata: struct{}{}}
}

// span is the frames from in up to but not including out.
func (r Rate) span(in, out int64) *otioRange {
	at := func(frames int64) otioTime {
		return otioTime{Schema: "RationalTime.1", Value: float64(frames), Rate: r.PerSecond()}
	}
	return &otioRange{Schema: "TimeRange.1", Start: at(in), Duration: at(out - in)}
}
