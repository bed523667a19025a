package film

import (
	"bufio"
	"fmt"
	"io"
	"net/url"
	"strconv"
	"strings"
)

// WriteLinks writes the clips as W3C media fragment links, which a browser opens
// at the clip: a text/uri-list (RFC 2483), where lines that begin with '#' are
// comments and carry titles, doubt and mark.
func WriteLinks(w io.Writer, l List, o Options) error {
	if err := l.check(); err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# %s\r\n", o.heading(l))
	for i, c := range l.Clips {
		for _, line := range o.caption(i+1, c) {
			fmt.Fprintf(b, "# %s\r\n", line)
		}
		fmt.Fprintf(b, "%s\r\n", Link(l.Name, c))
	}
	return b.Flush()
}

// Link is the address of a clip: the film's, with a temporal fragment to the
// millisecond.
func Link(name string, c Clip) string {
	start, end := millis(c.Start), millis(c.End)
	return address(name) + "#t=" + fragmentTime(start) + "," + fragmentTime(max(end, start+1))
}

func fragmentTime(ms int64) string {
	return strconv.FormatFloat(float64(ms)/1000, 'f', -1, 64)
}

// address is a film's name as a URI reference: an absolute address as it is but
// for its fragment, a file name relative and escaped.
func address(name string) string {
	if strings.Contains(name, "://") {
		if u, err := url.Parse(name); err == nil {
			u.Fragment, u.RawFragment = "", ""
			return u.String()
		}
	}
	return (&url.URL{Path: name}).String()
}
