package main

import (
	"strings"
	"testing"
)

// A pass is granted, listed, noted and revoked from the command line.
func TestAccessFromTheCommandLine(t *testing.T) {
	at := inDir(t)
	link := succeed(t, "access", "grant", "--ledger", at("l"), "--role", "charter", "--who", "ana", "--games", "g1,g2", "--at", "https://ledger.example:8443/")
	if !strings.HasPrefix(link, "https://ledger.example:8443/enter#") || len(link) < 80 {
		t.Fatalf("the link is %s", link)
	}
	var list struct {
		Passes []struct{ ID, Role, Who string }
	}
	text := succeed(t, "access", "list", "--ledger", at("l"), "--format", "json")
	decode(t, text, &list)
	if len(list.Passes) != 1 || list.Passes[0].Role != "charter" || list.Passes[0].Who != "ana" {
		t.Fatalf("listed %+v", list)
	}
	if key := strings.TrimSpace(link[strings.Index(link, "."):]); strings.Contains(text, key[len(key)-40:]) {
		t.Error("the list shows the key")
	}
	id := list.Passes[0].ID
	succeed(t, "access", "revoke", "--ledger", at("l"), id)
	if out := succeed(t, "access", "list", "--ledger", at("l")); !strings.Contains(out, "revoked") {
		t.Errorf("listed as\n%s", out)
	}
	trail := succeed(t, "access", "trail", "--ledger", at("l"))
	if !strings.Contains(trail, "access-granted") || !strings.Contains(trail, "access-revoked  "+id) {
		t.Errorf("trail\n%s", trail)
	}
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"access", "grant", "--ledger", at("l"), "--role", "king", "--who", "x"}, "want one of coach, charter, analyst, owner"},
		{[]string{"access", "grant", "--ledger", at("l"), "--role", "coach", "--who", "x", "--games", "No Game"}, "no game's id"},
		{[]string{"access", "grant", "--ledger", at("l"), "--role", "coach", "--who", "x", "--days", "0"}, "expired"},
		{[]string{"access", "revoke", "--ledger", at("l"), "00000000"}, "there is no pass"},
		{[]string{"serve", "--ledger", at("l"), "--listen", "0.0.0.0:0"}, "without TLS"},
		{[]string{"serve", "--ledger", at("l"), "--listen", "127.0.0.1:0", "--tls-cert", at("none"), "--tls-key", at("none")}, "--tls-cert"},
		{[]string{"demo", "--ledger", at("l"), "--games", "0", "--listen", "0.0.0.0:0"}, "without passes"},
	} {
		if _, errs, code := stopledger(t, c.args...); code != exitFailed || !strings.Contains(errs, c.want) {
			t.Errorf("%v: exit %d, %s", c.args, code, errs)
		}
	}
}
