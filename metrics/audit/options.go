package audit

// Options are the judgements an agreement rests on. Zero values mean the
// defaults; the ones used stand in the result.
type Options struct {
	Tolerance float64 `json:"tolerance"`  // seconds two clocks of one chance may differ once the offset is taken out; default 12
	MaxOffset float64 `json:"max_offset"` // longest offset looked for, in seconds; default 180
	Level     float64 `json:"level"`      // of the intervals; default 0.95
	Resamples int     `json:"resamples"`  // of chances, for the intervals; default 400, at least 40; below 0 none
	Seed      uint64  `json:"seed"`       // of the resampling; the same seed gives the same interval
}

func (o Options) orDefault() Options {
	if o.Tolerance <= 0 {
		o.Tolerance = 12
	}
	if o.MaxOffset <= 0 {
		o.MaxOffset = 180
	}
	if o.Level <= 0 || o.Level >= 1 {
		o.Level = 0.95
	}
	if o.Resamples == 0 {
		o.Resamples = 400
	}
	if o.Resamples > 0 {
		o.Resamples = max(o.Resamples, 40)
	}
	return o
}
