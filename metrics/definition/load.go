package definition

import "fmt"

// Load reads a definition that is to be put in force: besides being well
// formed, it must agree with its own worked examples. The error is [Problems],
// each at the example that contradicts.
func Load(file string, text []byte) (*Definition, error) {
	d, err := Parse(file, text)
	if err != nil {
		return nil, err
	}
	rep := newReport(file, text)
	for _, r := range Check(d) {
		if !r.OK {
			rep.add(place{r.Line, r.Column}, "%s", r)
		}
	}
	if err := rep.err(); err != nil {
		return nil, err
	}
	return d, nil
}

// String says what was expected and what came of it, in one line.
func (r ExampleResult) String() string {
	text := fmt.Sprintf("%s: %s: expected %s, got %s", r.Example, r.What, r.Expected, r.Got)
	if r.Reason != "" {
		text += " (" + r.Reason + ")"
	}
	return text
}
