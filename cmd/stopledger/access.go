package main

import (
	"context"
	"errors"
	"fmt"
	"os/user"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/web/access"
)

const day = 24 * time.Hour

func newAccess(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:   "access",
		Short: "let people in by link, and show them out",
		Long: "A link lets somebody in as coach, charter, analyst or owner, each of whom may do what\n" +
			"those before may: read; chart; change definitions and say which chart is of record;\n" +
			"let others in. A link opens one device unless it is granted for more, and is spent then.",
	}
	c.AddCommand(newAccessGrant(a), newAccessList(a), newAccessRevoke(a), newAccessTrail(a))
	return c
}

func newAccessGrant(a *app) *cobra.Command {
	var role, who, at string
	var games []string
	var days, devices int
	c := &cobra.Command{
		Use:   "grant --ledger X --role ROLE --who NAME",
		Short: "make a link that lets somebody in",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			p := access.Pass{Who: who, Devices: devices, Expires: time.Now().Add(time.Duration(days) * day)}
			var err error
			if p.Role, err = access.ParseRole(role); err != nil {
				return fmt.Errorf("--role: %w", err)
			}
			for _, g := range games {
				p.Games = append(p.Games, events.Token(g))
			}
			return a.withBook(c.Context(), func(l *bus.Ledger, book *access.Book) error {
				p, key, err := grant(c.Context(), l, book, p)
				if err != nil {
					return err
				}
				fmt.Fprintf(a.out, "%s\n", enterLink(at, key))
				fmt.Fprintf(a.errs, "pass %s: %s for %s, %s, until %s. The link is shown once and opens %d device(s).\n",
					p.ID, p.Role, p.Who, scopeText(p), p.Expires.Local().Format("2006-01-02 15:04"), p.Devices)
				return nil
			})
		},
	}
	ledgerFlag(c)
	c.Flags().StringVar(&role, "role", "", "one of "+strings.Join(access.Roles(), ", "))
	c.Flags().StringVar(&who, "who", "", "whose it is, for the trail")
	c.Flags().StringSliceVar(&games, "games", nil, "only these games, by their ids")
	c.Flags().IntVar(&days, "days", 30, "how long it opens")
	c.Flags().IntVar(&devices, "devices", 1, "how many devices the link opens")
	c.Flags().StringVar(&at, "at", "http://127.0.0.1:8080", "the address at which people reach the server")
	must(c.MarkFlagRequired("role"))
	must(c.MarkFlagRequired("who"))
	return c
}

func newAccessList(a *app) *cobra.Command {
	c := &cobra.Command{Use: "list --ledger X", Short: "who was let in, the newest first", Args: cobra.NoArgs}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	c.RunE = func(c *cobra.Command, _ []string) error {
		return a.withBook(c.Context(), func(_ *bus.Ledger, book *access.Book) error {
			list, err := book.List(c.Context())
			if err != nil {
				return err
			}
			if a.format == "json" {
				return writeJSON(a.out, map[string]any{"passes": list})
			}
			t := table{head: []string{"pass", "role", "who", "games", "until", "state", "devices"}, words: 6}
			for _, p := range list {
				t.add(p.ID, p.Role.String(), p.Who, scopeText(p), p.Expires.Local().Format("2006-01-02 15:04"),
					p.State(time.Now()), fmt.Sprintf("%d of %d", len(p.Opened), p.Devices))
			}
			return t.write(a.out)
		})
	}
	return c
}

func newAccessRevoke(a *app) *cobra.Command {
	c := &cobra.Command{
		Use:   "revoke --ledger X PASS…",
		Short: "end passes at once, whoever wears them",
		Args:  cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, ids []string) error {
			return a.withBook(c.Context(), func(l *bus.Ledger, book *access.Book) error {
				for _, id := range ids {
					p, err := book.Revoke(c.Context(), id)
					if errors.Is(err, bus.ErrNotFound) {
						return fmt.Errorf("there is no pass %s; stopledger access list shows them", id)
					}
					if err != nil {
						return fmt.Errorf("revoke pass %s: %w", id, err)
					}
					if err := l.Note(c.Context(), bus.TrailNote{Who: atThisShell(), What: "access-revoked", About: id, Text: p.Who}); err != nil {
						return err
					}
					fmt.Fprintf(a.out, "pass %s (%s, %s) opens nothing any more\n", id, p.Role, p.Who)
				}
				return nil
			})
		},
	}
	ledgerFlag(c)
	return c
}

func newAccessTrail(a *app) *cobra.Command {
	c := &cobra.Command{Use: "trail --ledger X", Short: "who changed access, definitions, charts of record, and forgot whom", Args: cobra.NoArgs}
	ledgerFlag(c)
	formatFlag(c, "table", "json")
	c.RunE = func(c *cobra.Command, _ []string) error {
		l, err := a.open(c.Context())
		if err != nil {
			return err
		}
		defer l.Close()
		notes := []bus.TrailNote{}
		for n, err := range l.Trail(c.Context()) {
			if err != nil {
				return err
			}
			notes = append(notes, n)
		}
		if a.format == "json" {
			return writeJSON(a.out, map[string]any{"trail": notes})
		}
		t := table{head: []string{"when", "who", "what", "about"}, words: 4}
		for _, n := range notes {
			t.add(n.At.Local().Format("2006-01-02 15:04:05"), n.Who, n.What, n.About)
		}
		return t.write(a.out)
	}
	return c
}

// withBook opens the ledger's passes.
func (a *app) withBook(ctx context.Context, do func(*bus.Ledger, *access.Book) error) error {
	l, err := bus.Open(ctx, a.ledger, bus.Options{Log: a.log})
	if err != nil {
		return err
	}
	defer l.Close()
	book, err := passesOf(ctx, l)
	if err != nil {
		return err
	}
	return do(l, book)
}

func passesOf(ctx context.Context, l *bus.Ledger) (*access.Book, error) {
	bucket, err := l.Bucket(ctx, bus.Access)
	if err != nil {
		return nil, fmt.Errorf("open the passes of %s: %w", l, err)
	}
	return access.Open(bucket, time.Now), nil
}

// grant stores a pass and notes who granted it.
func grant(ctx context.Context, l *bus.Ledger, book *access.Book, p access.Pass) (access.Pass, string, error) {
	p.By = atThisShell()
	p, key, err := book.Grant(ctx, p)
	if err != nil {
		return p, "", err
	}
	text := fmt.Sprintf("%s, %s, until %s", p.Role, scopeText(p), p.Expires.UTC().Format(time.RFC3339))
	err = l.Note(ctx, bus.TrailNote{Who: p.By, What: "access-granted", About: p.ID + " to " + p.Who, Text: text})
	return p, key, err
}

// ownerLink makes the first owner's link of a ledger that has none; "" if it
// has.
func ownerLink(ctx context.Context, l *bus.Ledger, book *access.Book, at string) (string, error) {
	list, err := book.List(ctx)
	if err != nil {
		return "", err
	}
	if slices.ContainsFunc(list, func(p access.Pass) bool { return p.Role == access.Owner && p.Live(time.Now()) }) {
		return "", nil
	}
	_, key, err := grant(ctx, l, book, access.Pass{Role: access.Owner, Who: "owner", Devices: 1, Expires: time.Now().Add(365 * day)})
	if err != nil {
		return "", err
	}
	return enterLink(at, key), nil
}

// enterLink puts the key behind the #: browsers send that part to nobody.
func enterLink(at, key string) string { return strings.TrimSuffix(at, "/") + "/enter#" + key }

func scopeText(p access.Pass) string {
	if len(p.Games) == 0 {
		return "every game"
	}
	names := make([]string, len(p.Games))
	for i, g := range p.Games {
		names[i] = string(g)
	}
	return strings.Join(names, ",")
}

// atThisShell names who runs the command. Whoever may write to the ledger's
// directory owns the ledger, whatever passes say.
func atThisShell() string {
	if u, err := user.Current(); err == nil {
		return "command line, account " + u.Username
	}
	return "command line"
}
