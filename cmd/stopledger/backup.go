package main

import (
	"context"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/events/bus/keep"
)

func newBackup(a *app) *cobra.Command {
	var to string
	c := &cobra.Command{
		Use:   "backup --ledger X --to FOLDER",
		Short: "copy a ledger into a folder of plain files",
		Long: "Copies events, people, definitions and the trail, each with its hash, while the ledger\n" +
			"is in use. FOLDER/events.jsonl is a ledger of its own. Passes are not copied.",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			l, err := a.open(c.Context())
			if err != nil {
				return err
			}
			defer l.Close()
			p := a.progress("events copied")
			m, err := keep.Write(c.Context(), l, to, func(n int) { p.at(n, 0) })
			p.done()
			if err != nil {
				return err
			}
			fmt.Fprintf(a.out, "%s: %d events up to position %d, %d people; check it any time with stopledger restore --from %s --check\n", to, m.Events, m.Last, m.People, to)
			if n := len(m.Unreadable); n > 0 {
				for _, f := range m.Unreadable {
					fmt.Fprintf(a.errs, "positions %d to %d are not in it: %s\n", f.From, f.To, f.What)
				}
				return findingsError{fmt.Sprintf("%d stretches of %s cannot be read; everything else is in the backup", n, l)}
			}
			return nil
		},
	}
	ledgerFlag(c)
	c.Flags().StringVar(&to, "to", "", "a folder, new or empty")
	must(c.MarkFlagRequired("to"))
	return c
}

func newRestore(a *app) *cobra.Command {
	var from string
	var check bool
	c := &cobra.Command{
		Use:   "restore --from FOLDER (--ledger X or --check)",
		Short: "bring a backup back, and compare it by position and hash",
		Long: "Checks the backup, adds what the ledger does not have, reads it back and compares.\n" +
			"Whoever was forgotten, in the ledger or in the backup, is left out. Passes do not come\n" +
			"back: grant new ones. Killed on the way, it is run again.",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if check {
				m, err := keep.Check(from)
				if err != nil {
					return err
				}
				fmt.Fprintf(a.out, "%s: whole; %d events up to position %d of %s, made %s\n", from, m.Events, m.Last, m.Ledger, m.Made.Format("2006-01-02 15:04:05Z07:00"))
				return nil
			}
			if a.ledger == "" {
				return fmt.Errorf("name the ledger to restore into with --ledger, or --check the backup alone")
			}
			return a.restore(c.Context(), from)
		},
	}
	c.Flags().String("ledger", "", "a directory or a nats:// address")
	c.Flags().StringVar(&from, "from", "", "the backup's folder")
	c.Flags().BoolVar(&check, "check", false, "only say whether the backup is whole")
	must(c.MarkFlagRequired("from"))
	return c
}

func (a *app) restore(ctx context.Context, from string) error {
	l, err := a.openForWriting(ctx)
	if err != nil {
		return err
	}
	defer l.Close()
	p := a.progress("events restored")
	r, err := keep.Restore(ctx, from, l, func(n int) { p.at(n, 0) })
	p.done()
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "%s: %d events read, %d added, %d already there; %d people", l, r.Load.Read, r.Load.Added, r.Load.AlreadyThere, r.People)
	if r.Forgotten > 0 {
		fmt.Fprintf(a.out, ", %d left out because they were forgotten", r.Forgotten)
	}
	if r.MovedMany == 0 {
		fmt.Fprintln(a.out, "; every event at its old position with its old bytes")
		return nil
	}
	fmt.Fprintf(a.out, "; every event with its old bytes, %d of them at other positions, from %d on\n", r.MovedMany, r.Moved.Position)
	return nil
}

func newForget(a *app) *cobra.Command {
	var player string
	var backups []string
	var lift bool
	c := &cobra.Command{
		Use:   "forget --ledger X --player CODE [--backup FOLDER…]",
		Short: "erase a person's name and measurements for good",
		Long: "Erases what is known of a person: the value, its history and their bytes in the store,\n" +
			"and in the backups named. Events hold codes alone and stay; pages and exports show the\n" +
			"code from then on. A restore of an older backup leaves him out. What somebody typed into\n" +
			"a note or a tag is part of the log and is not touched.",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			l, err := a.openForWriting(c.Context())
			if err != nil {
				return err
			}
			defer l.Close()
			code := events.Token(player)
			if lift {
				if err := keep.Remember(c.Context(), l, code, atThisShell()); err != nil {
					return err
				}
				fmt.Fprintf(a.out, "%s may be kept again; load --people brings in what he agreed to\n", code)
				return nil
			}
			return a.forget(c.Context(), l, code, backups)
		},
	}
	ledgerFlag(c)
	c.Flags().StringVar(&player, "player", "", "the player's code, such as mil-12")
	c.Flags().StringSliceVar(&backups, "backup", nil, "folders of backups to take him out of as well")
	c.Flags().BoolVar(&lift, "lift", false, "let him be kept again, after new consent; brings nothing back")
	must(c.MarkFlagRequired("player"))
	return c
}

func (a *app) forget(ctx context.Context, l *bus.Ledger, code events.Token, backups []string) error {
	known, err := keep.Forget(ctx, l, code, atThisShell())
	if err != nil {
		return err
	}
	fmt.Fprintln(a.out, forgetText(l.String(), code, known))
	for _, dir := range backups {
		known, err := keep.ForgetInBackup(dir, code, bus.TrailNote{At: time.Now().UTC(), Who: atThisShell()})
		if err != nil {
			return fmt.Errorf("forget %s in %s: %w", code, dir, err)
		}
		fmt.Fprintln(a.out, forgetText(dir, code, known))
	}
	return nil
}

func forgetText(where string, code events.Token, known bool) string {
	if known {
		return fmt.Sprintf("%s: %s is forgotten", where, code)
	}
	return fmt.Sprintf("%s: nothing was known of %s; he is noted, so that no restore brings him", where, code)
}
