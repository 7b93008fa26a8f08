package access

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/crypto/argon2"
	"pgregory.net/rapid"

	"slabside/internal/fault"
)

func chance(seed byte) *rand.ChaCha8 { return rand.NewChaCha8([32]byte{seed}) }

var noon = time.Date(2026, time.March, 14, 12, 0, 0, 0, time.UTC)

// staffed is a state with an owner, a maker and a helper, and one tablet.
func staffed(t testing.TB) (s *State, tablet string) {
	t.Helper()
	s = &State{}
	r := chance(1)
	for _, p := range []struct {
		name string
		role Role
		pin  string
	}{{"Odile", Owner, "204713"}, {"Bram", Maker, "880315"}, {"Wilma", Helper, "713094"}} {
		if _, err := s.AddPerson(p.name, p.role, p.pin, r); err != nil {
			t.Fatal(err)
		}
	}
	code, _, err := s.NewPairing(noon, r)
	if err != nil {
		t.Fatal(err)
	}
	if tablet, err = s.Pair(code, "slab", noon, r); err != nil {
		t.Fatal(err)
	}
	return s, tablet
}

// The rights of the roles, one table.
func TestRights(t *testing.T) {
	t.Parallel()
	for role, want := range map[Role][6]bool{
		Owner: {true, true, true, true, true, true}, Maker: {true, true, true, true, true, false}, Helper: {true, true, true, true, false, false}, Probe: {true, true, false, false, false, false},
		"": {true, false, false, false, false, false}, "admin": {true, false, false, false, false, false},
	} {
		for right := Anyone; right <= Govern; right++ {
			if got := role.May(right); got != want[right] {
				t.Errorf("%q, right %d: %v", role, right, got)
			}
		}
	}
}

// A program that measures does nothing else, and one that is held to a thermometer brings
// in no other's; a person is never one.
func TestProbeToken(t *testing.T) {
	t.Parallel()
	s, _ := staffed(t)
	brass, err := s.NewProbeToken("kettle", "brass", noon, chance(3))
	if err != nil {
		t.Fatal(err)
	}
	every, err := s.NewToken("gateway", Probe, noon, chance(4))
	if err != nil {
		t.Fatal(err)
	}
	helper, err := s.NewToken("printer", Helper, noon, chance(5))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		token, probe string
		may          bool
	}{{brass, "brass", true}, {brass, "slab-wire", false}, {brass, "", false}, {every, "brass", true}, {every, "slab-wire", true}, {helper, "brass", true}} {
		if got := s.TokenOf(c.token).MayMeasure(c.probe); got != c.may {
			t.Errorf("%s may bring in %q: %t", s.TokenOf(c.token).Name, c.probe, got)
		}
	}
	if (Token{Role: "admin"}).MayMeasure("brass") {
		t.Error("a role that is none measures")
	}
	if _, err := s.AddPerson("Wire", Probe, "904821", chance(6)); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a person who is a thermometer: %v", err)
	}
	if _, err := s.NewToken("x", "admin", noon, chance(6)); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("a role that is none: %v", err)
	}
}

// The hash is argon2id (RFC 9106) at the stated cost, salted, and nothing else opens it.
func TestPIN_Hash(t *testing.T) {
	t.Parallel()
	h, err := hashPIN("204713", chance(7))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(h, "$argon2id$v=19$m=19456,t=2,p=1$") {
		t.Errorf("hash %q", h)
	}
	salt, want := readPIN(h)
	if got := argon2.IDKey([]byte("204713"), salt, 2, 19456, 1, 32); string(got) != string(want) {
		t.Error("the hash is not that of the PIN")
	}
	other, _ := hashPIN("204713", chance(8))
	if h == other {
		t.Error("two hashes of one PIN are the same: no salt")
	}
	for pin, want := range map[string]bool{"204713": true, "204714": false, "": false, "0204713": false, strings.Repeat("1", 1<<20): false} {
		if samePIN(pin, h) != want {
			t.Errorf("%.20q: same %v", pin, !want)
		}
	}
	for _, spoiled := range []string{"", "x", strings.Replace(h, "t=2", "t=1", 1), strings.Replace(h, "argon2id", "argon2i", 1), h[:len(h)-4]} {
		if samePIN("204713", spoiled) {
			t.Errorf("a spoiled hash %q opens", spoiled)
		}
	}
}

func TestCheckPIN(t *testing.T) {
	t.Parallel()
	for pin, ok := range map[string]bool{
		"204713": true, "112233": true, "135790": true, "204713204713": true, "020406": true,
		"": false, "20471": false, "2047132047130": false, "20471a": false, "２０４７１３": false, "111111": false, "123456": false, "876543": false, " 204713": false,
	} {
		if err := CheckPIN(pin); (err == nil) != ok {
			t.Errorf("%q: %v", pin, err)
		}
	}
}

// Nobody is let in until there is an owner with a PIN; the first is an owner, and
// the last owner stays one.
func TestPeople(t *testing.T) {
	t.Parallel()
	s := &State{}
	if !s.Open() {
		t.Error("an empty state is not open")
	}
	if _, err := s.AddPerson("Wilma", Helper, "204713", chance(1)); fault.KindOf(err) != fault.KindInvalid {
		t.Errorf("the first is a helper: %v", err)
	}
	s, _ = staffed(t)
	if s.Open() {
		t.Error("a state with an owner is open")
	}
	for name, c := range map[string]struct {
		name, pin string
		role      Role
		kind      fault.Kind
	}{
		"no name": {" ", "204713", Maker, fault.KindInvalid}, "a long name": {strings.Repeat("a", 61), "204713", Maker, fault.KindInvalid},
		"a name twice": {"odile", "204713", Maker, fault.KindConflict}, "no role": {"Ann", "204713", "king", fault.KindInvalid},
		"an easy PIN": {"Ann", "123456", Maker, fault.KindInvalid}, "a name with a break": {"A\nB", "204713", Maker, fault.KindInvalid},
	} {
		if _, err := s.AddPerson(c.name, c.role, c.pin, chance(2)); fault.KindOf(err) != c.kind {
			t.Errorf("%s: %v", name, err)
		}
	}
	owner := s.People[0].ID
	if err := s.SetRole(owner, Maker); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("the last owner steps down: %v", err)
	}
	if err := s.RemovePerson(owner); fault.KindOf(err) != fault.KindConflict {
		t.Errorf("the last owner goes: %v", err)
	}
	if err := s.SetRole(s.People[1].ID, Owner); err != nil {
		t.Fatal(err)
	}
	if err := s.RemovePerson(owner); err != nil || len(s.People) != 2 {
		t.Errorf("one of two owners goes: %v", err)
	}
}

// A shift is of one person at one tablet, ends by itself, and ends with the PIN,
// the person and the tablet.
func TestShift(t *testing.T) {
	t.Parallel()
	s, secret := staffed(t)
	tablet, bram := s.TabletOf(secret).ID, s.People[1].ID
	r := chance(3)
	in := func() string {
		t.Helper()
		shift, err := s.SignIn(tablet, bram, "880315", noon, r)
		if err != nil {
			t.Fatal(err)
		}
		return shift
	}
	a, b := in(), in()
	if a == b {
		t.Error("two shifts have one secret")
	}
	on := func(shift, at string, after time.Duration) bool {
		p := s.OnShift(shift, at, noon.Add(after))
		return p != nil && p.ID == bram
	}
	if !on(a, tablet, 0) || !on(a, tablet, ShiftTime-time.Second) || on(a, tablet, ShiftTime) {
		t.Error("a shift does not last its time")
	}
	if on(a, Here, 0) || !s.CarriedOff(a, Here) || s.CarriedOff(a, tablet) || s.CarriedOff("", tablet) || on("", tablet, 0) {
		t.Error("a shift goes on at another tablet")
	}
	s.SignOut(a)
	if on(a, tablet, 0) || !on(b, tablet, 0) {
		t.Error("signing out ends the wrong shift")
	}
	for name, end := range map[string]func() error{
		"the PIN":    func() error { return s.SetPIN(bram, "880315", r) },
		"the tablet": func() error { return s.Unpair(tablet) },
		"the person": func() error { return s.RemovePerson(bram) },
	} {
		s, secret = staffed(t)
		tablet, bram = s.TabletOf(secret).ID, s.People[1].ID
		shift := in()
		if err := end(); err != nil {
			t.Fatal(err)
		}
		if on(shift, tablet, 0) {
			t.Errorf("%s goes, the shift goes on", name)
		}
	}
}

// Wrong PINs are free five times and then cost 30 s, a minute … a quarter of an
// hour; the right one is not looked at while they do. Somebody who is not there is
// told nothing else.
func TestShift_BruteForce(t *testing.T) {
	t.Parallel()
	s, _ := staffed(t)
	odile := s.People[0].ID
	for _, person := range []string{odile, "nobody"} {
		now := noon
		var waits []time.Duration
		for range freeMisses + 8 {
			_, err := s.SignIn(Here, person, "999999", now, chance(1))
			err, keep := Kept(err)
			if fault.KindOf(err) != fault.KindForbidden || !keep {
				t.Fatalf("a wrong PIN of %s: %v, kept %v", person, err, keep)
			}
			m := find(s.Misses, func(m Miss) bool { return m.Person == person })
			if m.Until.After(now) {
				waits = append(waits, m.Until.Sub(now))
				if _, err := s.SignIn(Here, person, "204713", m.Until.Add(-time.Millisecond), chance(1)); fault.KindOf(err) != fault.KindBusy {
					t.Errorf("the right PIN of %s while waiting: %v", person, err)
				}
				now = m.Until
			}
		}
		want := []time.Duration{30 * time.Second, time.Minute, 2 * time.Minute, 4 * time.Minute, 8 * time.Minute, 15 * time.Minute, 15 * time.Minute, 15 * time.Minute, 15 * time.Minute}
		if !slices.Equal(waits, want) {
			t.Errorf("%s waits %v", person, waits)
		}
		if person == odile {
			if _, err := s.SignIn(Here, odile, "204713", now, chance(1)); err != nil {
				t.Errorf("the right PIN after the wait: %v", err)
			}
			if len(s.Misses) != 0 {
				t.Error("the right PIN does not clear the count")
			}
		}
	}
	// At another tablet the person is not kept out by what is tried here.
	for range 8 {
		_, _ = s.SignIn("tablet-1", odile, "999999", noon, chance(1))
	}
	if _, err := s.SignIn(Here, odile, "204713", noon, chance(1)); err != nil {
		t.Errorf("kept out by another tablet: %v", err)
	}
}

// A code pairs one tablet, for ten minutes, and dies of five wrong ones.
func TestPair(t *testing.T) {
	t.Parallel()
	s, first := staffed(t)
	r := chance(4)
	code, ends, err := s.NewPairing(noon, r)
	if err != nil || len(code) != 8 || !ends.Equal(noon.Add(10*time.Minute)) {
		t.Fatalf("code %q until %v, %v", code, ends, err)
	}
	refused := func(name, code string, at time.Time) {
		t.Helper()
		_, err := s.Pair(code, "x", at, r)
		if err, keep := Kept(err); fault.KindOf(err) != fault.KindForbidden || !keep {
			t.Errorf("%s: %v", name, err)
		}
	}
	refused("an old code", code, ends)
	code, _, _ = s.NewPairing(noon, r)
	second, err := s.Pair(code, "packing", noon, r)
	if err != nil || second == first || s.TabletOf(second).Name != "packing" || s.TabletOf(first).Name != "slab" {
		t.Fatalf("paired: %v", err)
	}
	refused("a code used before", code, noon)
	code, _, _ = s.NewPairing(noon, r)
	for range codeWrong {
		refused("a wrong code", "00000000", noon)
	}
	refused("the code after five wrong ones", code, noon)
	if s.TabletOf("") != nil || s.TabletOf(code) != nil {
		t.Error("something that is no secret is a tablet")
	}
}

func TestToken(t *testing.T) {
	t.Parallel()
	s, _ := staffed(t)
	token, err := s.NewToken("label printer", Helper, noon, chance(5))
	if err != nil || !strings.HasPrefix(token, TokenPrefix) || len(token) < len(TokenPrefix)+40 {
		t.Fatalf("%q, %v", token, err)
	}
	x := s.TokenOf(token)
	if x == nil || x.Name != "label printer" || x.Role != Helper {
		t.Fatalf("%+v", x)
	}
	for _, other := range []string{"", TokenPrefix, token + "a", strings.TrimPrefix(token, TokenPrefix), x.Key} {
		if s.TokenOf(other) != nil {
			t.Errorf("%q is a token", other)
		}
	}
	s.Seen("", x.ID, noon.Add(time.Hour))
	if !s.Tokens[0].Used.Equal(noon.Add(time.Hour)) || Stale(s.Tokens[0].Used, noon.Add(90*time.Minute)) || !Stale(s.Tokens[0].Used, noon.Add(2*time.Hour)) {
		t.Error("the use of a token is not noted to the hour")
	}
	if err := s.RemoveToken(x.ID); err != nil || s.TokenOf(token) != nil {
		t.Errorf("a token taken back: %v", err)
	}
	if err := s.RemoveToken("token-1"); fault.KindOf(err) != fault.KindNotFound {
		t.Errorf("taken back twice: %v", err)
	}
}

// What is kept opens nothing: no PIN, code, secret or token stands in it.
func TestKeptIsNoSecret(t *testing.T) {
	t.Parallel()
	s, tablet := staffed(t)
	r := chance(6)
	shift, err := s.SignIn(s.Tablets[0].ID, s.People[0].ID, "204713", noon, r)
	if err != nil {
		t.Fatal(err)
	}
	token, _ := s.NewToken("x", Owner, noon, r)
	code, _, _ := s.NewPairing(noon, r)
	body, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	for name, secret := range map[string]string{"PIN": "204713", "shift": shift, "tablet": tablet, "token": token, "code": code} {
		if strings.Contains(string(body), secret) {
			t.Errorf("the %s stands in what is kept", name)
		}
	}
	var back State
	if err := json.Unmarshal(body, &back); err != nil || fmt.Sprint(back) != fmt.Sprint(*s) {
		t.Errorf("kept and read back it is another: %v", err)
	}
}

// Digits are as likely as one another and never fewer than asked.
func TestDigits(t *testing.T) {
	t.Parallel()
	var seen [10]int
	r := chance(9)
	const n = 2000
	for range n {
		code, err := digits(r, 8)
		if err != nil || len(code) != 8 {
			t.Fatalf("%q, %v", code, err)
		}
		for _, c := range code {
			seen[c-'0']++
		}
	}
	chi := 0.0
	for _, k := range seen {
		d := float64(k) - n*8/10
		chi += d * d / (n * 8 / 10)
	}
	if chi > 27.9 { // 99.9 % point of nine degrees of freedom, from memory
		t.Errorf("digits %v, chi square %.1f", seen, chi)
	}
}

// Whatever is done in whatever order, there is an owner once there was one, nobody
// on a shift is unknown, and no two things have one id.
func TestState_Property(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s, _ := staffedQuick(t)
		r := chance(11)
		now := noon
		for range rapid.IntRange(1, 40).Draw(t, "acts") {
			now = now.Add(time.Duration(rapid.IntRange(0, 200).Draw(t, "minutes")) * time.Minute)
			person := rapid.SampledFrom(s.People).Draw(t, "person").ID
			switch rapid.IntRange(0, 6).Draw(t, "act") {
			case 0:
				_ = s.RemovePerson(person)
			case 1:
				_ = s.SetRole(person, rapid.SampledFrom(Roles()).Draw(t, "role"))
			case 2:
				if code, _, err := s.NewPairing(now, r); err == nil {
					_, _ = s.Pair(code, "tablet", now, r)
				}
			case 3:
				if len(s.Tablets) > 0 {
					_ = s.Unpair(rapid.SampledFrom(s.Tablets).Draw(t, "tablet").ID)
				}
			case 4:
				s.Shifts = append(s.Shifts, Shift{Key: fmt.Sprint(len(s.Shifts), now), Person: person, Tablet: Here, Began: now}) // as SignIn, without the hash's cost
			case 5:
				_, _ = s.NewToken("program", Helper, now, r)
			case 6:
				s.tidy(now)
			}
			if s.Open() {
				t.Fatal("the state is open again")
			}
			ids := map[string]bool{}
			for _, id := range s.ids() {
				if ids[id] {
					t.Fatalf("%s is there twice", id)
				}
				ids[id] = true
			}
			for _, x := range s.Shifts {
				if s.Person(x.Person) == nil {
					t.Fatalf("a shift of %s, who is not there", x.Person)
				}
			}
		}
	})
}

func staffedQuick(t *rapid.T) (*State, string) {
	s := &State{People: []Person{{ID: "person-1", Name: "Odile", Role: Owner, PIN: "x"}, {ID: "person-2", Name: "Bram", Role: Maker, PIN: "x"}, {ID: "person-3", Name: "Ann", Role: Owner, PIN: "x"}}}
	return s, ""
}

func (s *State) ids() (out []string) {
	for _, p := range s.People {
		out = append(out, p.ID)
	}
	for _, t := range s.Tablets {
		out = append(out, t.ID)
	}
	for _, t := range s.Tokens {
		out = append(out, t.ID)
	}
	return out
}

// Names of nobody share one count: they neither fill what is kept nor push a
// person's count out of it.
func TestShift_NamesOfNobody(t *testing.T) {
	t.Parallel()
	s, _ := staffed(t)
	odile := s.People[0].ID
	for range freeMisses {
		_, _ = s.SignIn(Here, odile, "999999", noon, chance(1))
	}
	for i := range 600 {
		_, _ = s.SignIn(Here, fmt.Sprint(i, strings.Repeat("x", 1000)), "999999", noon, chance(1))
	}
	if body, err := json.Marshal(s); err != nil || len(body) > 10_000 {
		t.Errorf("%d bytes are kept, %v", len(body), err)
	}
	if _, err := s.SignIn(Here, odile, "204713", noon, chance(1)); fault.KindOf(err) != fault.KindBusy {
		t.Errorf("the wait is over: %v", err)
	}
}

// A tablet paired in the place of another begins without the other's wrong PINs.
func TestUnpair_Misses(t *testing.T) {
	t.Parallel()
	s, _ := staffed(t)
	tablet := s.Tablets[0].ID
	for range freeMisses {
		_, _ = s.SignIn(tablet, s.People[0].ID, "999999", noon, chance(1))
	}
	if err := s.Unpair(tablet); err != nil || len(s.Misses) != 0 {
		t.Errorf("%d counts stay, %v", len(s.Misses), err)
	}
}
