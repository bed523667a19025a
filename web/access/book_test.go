package access_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"stopledger/events"
	"stopledger/events/bus"
	"stopledger/web/access"
)

// clock is set by the test.
type clock struct{ t time.Time }

func (c *clock) now() time.Time { return c.t }

func book(t *testing.T) (*access.Book, bus.Bucket, *clock) {
	t.Helper()
	l, err := bus.Open(t.Context(), t.TempDir(), bus.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	b, err := l.Bucket(t.Context(), bus.Access)
	if err != nil {
		t.Fatal(err)
	}
	c := &clock{time.Date(2031, 1, 14, 19, 0, 0, 0, time.UTC)}
	return access.Open(b, c.now), b, c
}

func grant(t *testing.T, b *access.Book, c *clock, devices int) (access.Pass, string) {
	t.Helper()
	p, key, err := b.Grant(t.Context(), access.Pass{
		Role: access.Charter, Who: "ana", Games: []events.Token{"g1"}, Devices: devices, Expires: c.t.Add(time.Hour), By: "test",
	})
	if err != nil {
		t.Fatal(err)
	}
	return p, key
}

func TestALinkOpensAsManyDevicesAsGranted(t *testing.T) {
	b, _, c := book(t)
	p, key := grant(t, b, c, 2)
	for range 2 {
		_, token, err := b.Enter(t.Context(), key)
		if err != nil {
			t.Fatal(err)
		}
		who, err := b.Who(t.Context(), token)
		if err != nil || who.ID != p.ID || who.Role != access.Charter || !who.Sees("g1") || who.Sees("g2") {
			t.Errorf("the token is of %+v, %v", who, err)
		}
	}
	if _, _, err := b.Enter(t.Context(), key); !errors.Is(err, access.ErrSpent) {
		t.Errorf("a third device: %v; want the link spent", err)
	}
}

// Of what opens doors nothing but hashes is stored.
func TestTheBucketHoldsNoSecret(t *testing.T) {
	b, bucket, c := book(t)
	p, key := grant(t, b, c, 1)
	_, token, err := b.Enter(t.Context(), key)
	if err != nil {
		t.Fatal(err)
	}
	v, err := bucket.Get(t.Context(), p.ID)
	if err != nil {
		t.Fatal(err)
	}
	for _, secret := range []string{key, token} {
		if part := strings.SplitN(secret, ".", 2)[1]; strings.Contains(string(v.Bytes), part) {
			t.Errorf("stored: %s", v.Bytes)
		}
	}
}

func TestWhatOpensNothing(t *testing.T) {
	b, _, c := book(t)
	p, key := grant(t, b, c, 1)
	_, token, err := b.Enter(t.Context(), key)
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"", "x", key, token[:len(token)-1], token + "A", strings.Replace(token, p.ID, "00000000", 1), p.ID + "." + strings.Repeat("A", 43)} {
		if _, err := b.Who(t.Context(), bad); !errors.Is(err, access.ErrUnknown) {
			t.Errorf("token %q: %v", bad, err)
		}
	}
	for _, bad := range []string{"", token, key[:20], p.ID + "." + strings.Repeat("A", 43)} {
		if _, _, err := b.Enter(t.Context(), bad); !errors.Is(err, access.ErrUnknown) {
			t.Errorf("key %q: %v", bad, err)
		}
	}
	c.t = c.t.Add(time.Hour)
	if _, err := b.Who(t.Context(), token); !errors.Is(err, access.ErrUnknown) {
		t.Errorf("after its expiry: %v", err)
	}
	if _, _, err := b.Grant(t.Context(), access.Pass{Role: access.Owner, Expires: c.t}); err == nil {
		t.Error("a pass that has expired was granted")
	}
}

// A revocation in one process ends what the pass opened in another.
func TestRevocationReachesWhoFollows(t *testing.T) {
	here, bucket, c := book(t)
	there := access.Open(bucket, c.now)
	ctx, stop := context.WithCancel(t.Context())
	followed := make(chan error, 1)
	go func() { followed <- there.Follow(ctx) }()
	p, key := grant(t, here, c, 1)
	_, token, err := there.Enter(t.Context(), key)
	if err != nil {
		t.Fatal(err)
	}
	p, err = there.Who(t.Context(), token)
	if err != nil {
		t.Fatal(err)
	}
	held, release := there.Hold(t.Context(), p)
	defer release()
	if _, err := here.Revoke(t.Context(), p.ID); err != nil {
		t.Fatal(err)
	}
	select {
	case <-held.Done():
	case <-time.After(10 * time.Second):
		t.Fatal("the revocation was not heard of")
	}
	if !errors.Is(context.Cause(held), access.ErrEnded) {
		t.Errorf("it ended with %v", context.Cause(held))
	}
	if _, err := there.Who(t.Context(), token); !errors.Is(err, access.ErrUnknown) {
		t.Errorf("the token still opens: %v", err)
	}
	stop()
	<-followed
}

func TestLeavingMakesTheTokenWorthless(t *testing.T) {
	b, _, c := book(t)
	_, key := grant(t, b, c, 1)
	_, token, err := b.Enter(t.Context(), key)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Leave(t.Context(), token); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Who(t.Context(), token); !errors.Is(err, access.ErrUnknown) {
		t.Errorf("the token still opens: %v", err)
	}
	if _, _, err := b.Enter(t.Context(), key); !errors.Is(err, access.ErrSpent) {
		t.Errorf("the link opens again: %v", err)
	}
}

func TestRolesByName(t *testing.T) {
	for _, name := range access.Roles() {
		r, err := access.ParseRole(name)
		if err != nil || r.String() != name {
			t.Errorf("%s: %v, %v", name, r, err)
		}
	}
	if _, err := access.ParseRole("nobody"); err == nil {
		t.Error("nobody can be granted")
	}
	var r access.Role
	if err := r.UnmarshalText([]byte("emperor")); err != nil || r != access.Nobody {
		t.Errorf("a role of the future is %v, %v", r, err)
	}
}
