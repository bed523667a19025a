package definition

import ()

// maxDense is the most combinations of fields that are kept in a plain table.
var maxDense uint64 = 1 << 16

// memo evaluates one expression over rows and remembers what it gave for each
// combination of the fields that it names: in a table while the combinations
// are few, by hash beyond, and not at all where a measured field is read as it
// is, because hardly two rows agree then. A memo belongs to one goroutine.
type memo struct {
	expr    *expression
	frame   *frame
	lenses  []lens
	strides []uint64
	raw     bool
	dense   []uint32          // by combination: value's index plus one
	sparse  map[uint64]uint32 // the same
	values  []value           // what evaluations gave; index 0 and 1 are false and true
	index   map[value]uint32
	record  *record
}

func newMemo(e *expression, f *frame) *memo {
	m := &memo{expr: e, frame: f, record: newRecord(), index: map[value]uint32{}}
	m.intern(value{})
	m.intern(value{number: 1})
	size := uint64(1)
	tooMany := false
	for _, r := range e.fields {
		l := f.lensOf(r, e)
		m.lenses = append(m.lenses, l)
		m.strides = append(m.strides, size)
		m.raw = m.raw || l.raw
		if n := uint64(max(len(l.values), 1)); size > (1<<63)/n {
			tooMany = true
		} else {
			size *= n
		}
	}
	switch {
	case m.raw || tooMany:
		m.raw = true
	case size <= maxDense:
		m.dense = make([]uint32, size)
	default:
		m.sparse = map[uint64]uint32{}
	}
	return m
}

func (m *memo) intern(v value) uint32 {
	if at, ok := m.index[v]; ok {
		return at
	}
	at := uint32(len(m.values))
	m.values = append(m.values, v)
	m.index[v] = at
	return at
}

// of gives the index of the expression's value for a chance and an action.
func (m *memo) of(chance, action uint32) uint32 {
	if m.raw {
		for i := range m.lenses {
			l := &m.lenses[i]
			m.record.values[l.ref.slot] = l.value(m.frame.at(l.ref.from, chance, action))
		}
		return m.intern(m.expr.evaluate(m.record))
	}
	key := uint64(0)
	for i := range m.lenses {
		l := &m.lenses[i]
		key += uint64(l.code(m.frame.at(l.ref.from, chance, action))) * m.strides[i]
	}
	return m.ofKey(key)
}

func (m *memo) ofKey(key uint64) uint32 {
	if m.dense != nil {
		if at := m.dense[key]; at > 0 {
			return at - 1
		}
	} else if at := m.sparse[key]; at > 0 {
		return at - 1
	}
	for i := range m.lenses {
		l := &m.lenses[i]
		m.record.values[l.ref.slot] = l.values[key/m.strides[i]%uint64(len(l.values))]
	}
	at := m.intern(m.expr.evaluate(m.record))
	if m.dense != nil {
		m.dense[key] = at + 1
	} else {
		m.sparse[key] = at + 1
	}
	return at
}
