package definition

import (
	"embed"
	"fmt"
	"slices"
	"sort"
	"strings"
	"sync"

	"stopledger/events"
)

//go:embed shipped/*.yaml
var shippedFiles embed.FS

// DefaultName is the definition in force where nobody chose another.
const DefaultName = "ball-won"

const assignmentsFile = "assignments.yaml"

// Shipped lists the definitions that come with the program, the default
// first, the rest by name.
func Shipped() []*Definition { return slices.Clone(shipped()) }

// ShippedText is the file of a shipped definition, as a start for one's own.
func ShippedText(name string) (string, bool) {
	text, err := shippedFiles.ReadFile("shipped/" + name + ".yaml")
	if err != nil || name+".yaml" == assignmentsFile {
		return "", false
	}
	return string(text), true
}

// ByName finds a shipped definition.
func ByName(name string) (*Definition, error) {
	c, err := NewCatalogue(shipped()...)
	if err != nil {
		return nil, err
	}
	return c.ByName(name)
}

// Default is the definition in force where nobody chose another.
func Default() *Definition { return shipped()[0] }

var shipped = sync.OnceValue(func() []*Definition {
	entries, err := shippedFiles.ReadDir("shipped")
	if err != nil {
		panic(err) // embedded
	}
	var list []*Definition
	for _, e := range entries {
		if e.Name() == assignmentsFile {
			continue
		}
		text, err := shippedFiles.ReadFile("shipped/" + e.Name())
		if err != nil {
			panic(err)
		}
		d, err := Parse(e.Name(), text)
		if err != nil {
			panic(fmt.Sprintf("definition: shipped %s: %v", e.Name(), err)) // a test parses them all
		}
		list = append(list, d)
	}
	sort.Slice(list, func(i, j int) bool {
		a, b := list[i].Name, list[j].Name
		return a == DefaultName && b != DefaultName || b != DefaultName && a < b
	})
	return list
})

// ShippedAssignments lists the assignments that stand in for a definition
// without any of its own.
func ShippedAssignments() []Assignment { return slices.Clone(shippedAssignments()) }

var shippedAssignments = sync.OnceValue(func() []Assignment {
	text, err := shippedFiles.ReadFile("shipped/" + assignmentsFile)
	if err != nil {
		panic(err)
	}
	r := &reader{rep: newReport(assignmentsFile, text)}
	var list []Assignment
	if top := document(r.rep, text); top != nil {
		for _, e := range r.entries(top, "the file", []string{"assignments"}) {
			list = r.assignments(e.value)
		}
	}
	if err := r.rep.err(); err != nil {
		panic(fmt.Sprintf("definition: shipped assignments: %v", err))
	}
	return list
})

// Catalogue holds definitions by name.
type Catalogue struct {
	list   []*Definition
	byName map[string]*Definition
}

// NewCatalogue puts definitions together; two of one name are refused.
func NewCatalogue(list ...*Definition) (*Catalogue, error) {
	c := &Catalogue{byName: map[string]*Definition{}}
	for _, d := range list {
		if err := c.Add(d); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// Add puts one more in. A catalogue that refuses it stays as it was.
func (c *Catalogue) Add(d *Definition) error {
	if other, taken := c.byName[d.Name]; taken {
		return fmt.Errorf("%s and %s both define %q; rename one of them", other.File, d.File, d.Name)
	}
	c.byName[d.Name] = d
	c.list = append(c.list, d)
	return nil
}

// ByName finds a definition; the error names what there is.
func (c *Catalogue) ByName(name string) (*Definition, error) {
	if d, ok := c.byName[name]; ok {
		return d, nil
	}
	var names []string
	for _, d := range c.list {
		names = append(names, d.Name)
	}
	if near := events.Nearest(name, names); near != "" {
		return nil, fmt.Errorf("no definition is called %q; did you mean %q?", name, near)
	}
	return nil, fmt.Errorf("no definition is called %q; there are %s", name, strings.Join(names, ", "))
}
