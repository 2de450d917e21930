package harvest

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"
)

func TestFirstLink(t *testing.T) { onBoth(t, firstLink) }

func firstLink(t *testing.T, r *rig) {
	if _, needed := must2(r.FirstLink(r.ctx))(t); needed {
		t.Error("a first link is made though there is an account")
	}
	if _, err := r.engine.write.ExecContext(r.ctx, "DELETE FROM account"); err != nil {
		t.Fatal(err)
	}
	old, _ := must2(r.FirstLink(r.ctx))(t)
	token, _ := must2(r.FirstLink(r.ctx))(t)
	if _, err := r.Join(r.ctx, old, "Ada", adviserPassword); !errors.Is(err, ErrLink) {
		t.Errorf("the first link before the newest: %v", err)
	}
	if _, err := r.Join(r.ctx, token, "Ada", "short"); !errors.Is(err, ErrInput) {
		t.Errorf("a short password: %v", err)
	}
	who := must(r.Join(r.ctx, token, "  Ada   Lone ", adviserPassword))(t)
	if who.Name != "Ada Lone" {
		t.Errorf("the name became %q", who.Name)
	}
	if _, err := r.Join(r.ctx, token, "Eve", adviserPassword); !errors.Is(err, ErrLink) {
		t.Errorf("the first link used twice: %v", err)
	}
}

func must2[A, B any](a A, b B, err error) func(*testing.T) (A, B) {
	return func(t *testing.T) (A, B) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return a, b
	}
}

func TestInvitations(t *testing.T) { onBoth(t, invitations) }

func invitations(t *testing.T, r *rig) {
	late := must(r.adviser.Invite(r.ctx, r.farm.ID, Crew, time.Hour))(t)
	r.late.add(2 * time.Hour)
	if _, err := r.Join(r.ctx, late, "Late", adviserPassword); !errors.Is(err, ErrLink) {
		t.Errorf("an expired invitation: %v", err)
	}
	// One link, many at once: one gets in.
	token := must(r.adviser.Invite(r.ctx, r.farm.ID, Crew, time.Hour))(t)
	var wait sync.WaitGroup
	in := make(chan Who, 8)
	for i := range 8 {
		wait.Go(func() {
			if who, err := r.Join(r.ctx, token, fmt.Sprint("Racer ", i), adviserPassword); err == nil {
				in <- who
			}
		})
	}
	wait.Wait()
	if len(in) != 1 {
		t.Errorf("%d came in by one invitation", len(in))
	}
	if n := len(must(r.adviser.Members(r.ctx, r.farm.ID))(t)); n != 2 {
		t.Errorf("the farm has %d members", n)
	}
	// Somebody who has an account takes a second farm's role with it; a taken name needs its password.
	south := must(r.adviser.AddFarm(r.ctx, "South Farm"))(t)
	more := must(r.adviser.Invite(r.ctx, south.ID, Reader, time.Hour))(t)
	racer := <-in
	if _, err := r.Join(r.ctx, more, racer.Name, "some other password"); !errors.Is(err, ErrInput) {
		t.Errorf("another's name: %v", err)
	}
	if who := must(r.Join(r.ctx, more, strings.ToUpper(racer.Name), adviserPassword))(t); who.AccountID != racer.AccountID {
		t.Errorf("the account joined as another: %+v", who)
	}
	if n := len(must(r.Desk(racer).Farms(r.ctx))(t)); n != 2 {
		t.Errorf("it is on %d farms", n)
	}
}

func TestSignIn(t *testing.T) { onBoth(t, signIn) }

func signIn(t *testing.T, r *rig) {
	who := must(r.SignIn(r.ctx, "ada  ADVISER", adviserPassword))(t)
	if who != r.adviser.who {
		t.Errorf("signed in as %+v", who)
	}
	for _, name := range []string{"Ada Adviser", "Nobody Here"} {
		for range maxFailed {
			if _, err := r.SignIn(r.ctx, name, "wrong password"); !errors.Is(err, ErrSignIn) {
				t.Fatalf("%s with a wrong password: %v", name, err)
			}
		}
		if _, err := r.SignIn(r.ctx, name, adviserPassword); !errors.Is(err, ErrBusy) {
			t.Errorf("%s after too many: %v", name, err)
		}
	}
	r.late.add(failedWithin + time.Second)
	must(r.SignIn(r.ctx, "Ada Adviser", adviserPassword))(t)
	// A right password starts the count anew.
	for range 3 * maxFailed {
		must(r.SignIn(r.ctx, "Ada Adviser", adviserPassword))(t)
	}
}

func TestSessionsAndTokens(t *testing.T) { onBoth(t, sessionsAndTokens) }

func sessionsAndTokens(t *testing.T, r *rig) {
	session := must(r.StartSession(r.ctx, r.adviser.who, time.Hour))(t)
	if who := must(r.Session(r.ctx, session))(t); who != r.adviser.who {
		t.Errorf("the session is of %+v", who)
	}
	token, _ := must2(r.adviser.AddToken(r.ctx, "script", 2*time.Hour))(t)
	if who := must(r.APIToken(r.ctx, token))(t); who != r.adviser.who {
		t.Errorf("the token is of %+v", who)
	}
	for _, forged := range []string{"", "x", session + "x", hashToken(session), token, "' OR ''='"} {
		if _, err := r.Session(r.ctx, forged); !errors.Is(err, ErrSignIn) {
			t.Errorf("session %q: %v", forged, err)
		}
	}
	r.late.add(time.Hour + time.Minute)
	if _, err := r.Session(r.ctx, session); !errors.Is(err, ErrSignIn) {
		t.Errorf("an expired session: %v", err)
	}
	must(r.APIToken(r.ctx, token))(t)
	r.late.add(time.Hour)
	if _, err := r.APIToken(r.ctx, token); !errors.Is(err, ErrSignIn) {
		t.Errorf("an expired token: %v", err)
	}
	// A new password ends what was signed in with the old one.
	session = must(r.StartSession(r.ctx, r.adviser.who, time.Hour))(t)
	if err := r.adviser.ChangePassword(r.ctx, adviserPassword, "a new long one"); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Session(r.ctx, session); !errors.Is(err, ErrSignIn) {
		t.Errorf("a session from before the new password: %v", err)
	}
	must(r.SignIn(r.ctx, "Ada Adviser", "a new long one"))(t)
}

func TestCrewLinkSessionsEndWithTheLink(t *testing.T) { onBoth(t, crewLinkSessions) }

func crewLinkSessions(t *testing.T, r *rig) {
	token, link := must2(r.adviser.AddCrewLink(r.ctx, r.harvest.ID, "Wagon 3", time.Hour))(t)
	who := must(r.CrewLink(r.ctx, token))(t)
	if who.Name != "Wagon 3" || who.HarvestID != r.harvest.ID || who.AccountID != 0 {
		t.Errorf("the link lets in %+v", who)
	}
	session := must(r.StartSession(r.ctx, who, 24*time.Hour))(t)
	must(r.Session(r.ctx, session))(t)
	r.late.add(2 * time.Hour)
	if _, err := r.Session(r.ctx, session); !errors.Is(err, ErrLink) {
		t.Errorf("a session of an expired link: %v", err)
	}
	r.late.add(-(2 * time.Hour))
	if err := r.adviser.RevokeCrewLink(r.ctx, link.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Session(r.ctx, session); err == nil {
		t.Error("a session of a revoked link goes on")
	}
	if _, err := r.CrewLink(r.ctx, token); !errors.Is(err, ErrLink) {
		t.Errorf("a revoked link: %v", err)
	}
}

func TestSecretsAtRest(t *testing.T) {
	// RFC 9106, section 4: the second recommended option, for where memory is scarce.
	if realCost != (argon{time: 3, memoryKiB: 64 * 1024, lanes: 4}) {
		t.Errorf("a password costs %+v", realCost)
	}
	l := &Log{hashing: make(chan struct{}, 2)}
	fast := passwordCost
	passwordCost = realCost
	defer func() { passwordCost = fast }()
	hash := l.hashPassword("correct horse")
	if !strings.HasPrefix(hash, "$argon2id$v=19$m=65536,t=3,p=4$") || !l.passwordFits("correct horse", hash) || l.passwordFits("correct hors", hash) {
		t.Errorf("the hash %s does not tell right from wrong", hash)
	}
	if hash == l.hashPassword("correct horse") {
		t.Error("two hashes of one password are equal: no salt")
	}
	for _, broken := range []string{"", "plain", "$argon2id$v=19$m=65536,t=3,p=4$!$!", "$argon2i$v=19$m=8,t=1,p=1$AAAA$AAAA"} {
		if l.passwordFits("", broken) {
			t.Errorf("%q lets somebody in", broken)
		}
	}
}

func TestTheLastAdviserStays(t *testing.T) {
	onBoth(t, func(t *testing.T, r *rig) {
		me := r.adviser.who.AccountID
		for _, role := range []Role{"", Reader} {
			if err := r.adviser.SetRole(r.ctx, r.farm.ID, me, role); !errors.Is(err, ErrInput) {
				t.Errorf("role %q for the last adviser: %v", role, err)
			}
		}
		r.joined("Second", Adviser)
		if err := r.adviser.SetRole(r.ctx, r.farm.ID, me, Reader); err != nil {
			t.Error(err)
		}
		if err := r.adviser.SetRole(r.ctx, r.farm.ID, me, Adviser); !errors.Is(err, ErrRight) {
			t.Errorf("a reader made himself adviser: %v", err)
		}
	})
}
