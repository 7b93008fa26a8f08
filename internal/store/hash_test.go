package store_test

import (
	"testing"
	"time"

	"slabside/internal/store"
)

// TestHashAct holds the hash to values computed outside this program, by
// Python 3 hashlib over netstrings put together by hand:
//
//	f = ["slabside act 1","7","desk-7","desk","7","Zoë","1773489600250","1773489601000","import","why, so","3","{}",64*"0"]
//	sha256(b"".join(b"%d:%s," % (len(x.encode()), x.encode()) for x in f)).hexdigest()
func TestHashAct(t *testing.T) {
	t.Parallel()
	a := store.Act{Seq: 7, ID: "desk-7", Device: "desk", DeviceSeq: 7, Person: "Zoë", At: time.UnixMilli(1773489600250),
		Received: time.UnixMilli(1773489601000).UTC(), Kind: "import", Reason: "why, so", Corrects: 3, Body: []byte("{}"), PrevHash: store.FirstHash}
	if got, want := store.HashAct(a), "9e79f3b398bb9d52cba3c23961886ec257a6e95cc1ec629d9e10e131beb98fbe"; got != want {
		t.Errorf("HashAct = %s, want %s", got, want)
	}
}

// TestHashAct_everyField changes each field in turn, and moves text between
// neighbours: each must give another hash.
func TestHashAct_everyField(t *testing.T) {
	t.Parallel()
	base := store.Act{Seq: 7, ID: "ab", Device: "cd", DeviceSeq: 7, Person: "ef", At: time.UnixMilli(1000), Received: time.UnixMilli(2000),
		Kind: "gh", Reason: "ij", Corrects: 3, Body: []byte("kl"), PrevHash: "mn"}
	seen := map[string]string{store.HashAct(base): "the act itself"}
	for name, change := range map[string]func(*store.Act){
		"seq":              func(a *store.Act) { a.Seq++ },
		"id":               func(a *store.Act) { a.ID += "x" },
		"device":           func(a *store.Act) { a.Device += "x" },
		"device seq":       func(a *store.Act) { a.DeviceSeq++ },
		"person":           func(a *store.Act) { a.Person += "x" },
		"at":               func(a *store.Act) { a.At = a.At.Add(time.Millisecond) },
		"received":         func(a *store.Act) { a.Received = a.Received.Add(time.Millisecond) },
		"kind":             func(a *store.Act) { a.Kind += "x" },
		"reason":           func(a *store.Act) { a.Reason += "x" },
		"corrects":         func(a *store.Act) { a.Corrects++ },
		"body":             func(a *store.Act) { a.Body = []byte("klx") },
		"previous hash":    func(a *store.Act) { a.PrevHash += "x" },
		"id to device":     func(a *store.Act) { a.ID, a.Device = "a", "bcd" },
		"kind to reason":   func(a *store.Act) { a.Kind, a.Reason = "g", "hij" },
		"body to previous": func(a *store.Act) { a.Body, a.PrevHash = []byte("k"), "lmn" },
		"comma moved":      func(a *store.Act) { a.Kind, a.Reason = "gh,2:ij", "" },
	} {
		a := base
		change(&a)
		if was, dup := seen[store.HashAct(a)]; dup {
			t.Errorf("%s gives the hash of %s", name, was)
		}
		seen[store.HashAct(a)] = name
	}
}
