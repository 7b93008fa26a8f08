package shoptest_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"slabside/internal/book"
	"slabside/internal/shoptest"
)

func TestSampleShopsAreSound(t *testing.T) {
	t.Parallel()
	for name, b := range map[string]book.Book{"Book": shoptest.Book(), "Small": shoptest.Small()} {
		for _, p := range book.Errors(book.Validate(&b)) {
			t.Errorf("%s: %+v", name, p)
		}
	}
}

// Every call returns a fresh value: a test that changes its shop changes no other's.
func TestSampleShopsAreFresh(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.Recipes[0].Boil[0].Mass = 99
	b.Hands[0].May[0] = "nothing"
	b.Recipes[2].Flavour.Tolerates["pear"] = 6
	if cmp.Equal(b, shoptest.Book()) {
		t.Error("the change did not take")
	}
	if d := cmp.Diff(shoptest.Book(), shoptest.Book()); d != "" {
		t.Error(d)
	}
	if c := shoptest.Book(); c.Recipes[0].Boil[0].Mass == 99 || c.Hands[0].May[0] == "nothing" || c.Recipes[2].Flavour.Tolerates["pear"] == 6 {
		t.Error("two sample shops share memory")
	}
}

func TestClockMoves(t *testing.T) {
	t.Parallel()
	now := shoptest.Clock(time.Minute)
	if a, b := now(), now(); !a.Equal(shoptest.Now()) || b.Sub(a) != time.Minute {
		t.Errorf("clock gave %v, %v", a, b)
	}
	loc, err := time.LoadLocation(shoptest.Zone)
	if err != nil {
		t.Fatal(err)
	}
	if got := shoptest.Now().In(loc).Format("2006-01-02 15:04"); got != shoptest.Date+" 07:50" {
		t.Errorf("the clock shows %s in the shop", got)
	}
}
