package validation_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"slabside/internal/validation"
)

// ending is a test that can be ended without ending this one.
type ending struct{ testing.TB }

func (ending) Helper()                        {}
func (ending) Fatal(args ...any)              { panic(fmt.Sprint(args...)) }
func (ending) Fatalf(format string, a ...any) { panic(fmt.Sprintf(format, a...)) }

func TestRecords(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.Mkdir("testdata", 0o755); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"good.csv": "# from nowhere\nname,n,key\n\"a, b\",2.5,practice\nc,3,\n", "none.csv": "name,n\n", "odd.csv": "a,b\n1\n"} {
		if err := os.WriteFile(filepath.Join("testdata", name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	rows := validation.Records(t, "good.csv")
	if len(rows) != 2 || rows[0].Text("name") != "a, b" || rows[0].Number("n") != 2.5 || rows[0].Key() != "practice" || rows[1].Whole("n") != 3 || rows[1].Key() != "" {
		t.Errorf("read %+v", rows)
	}
	good := func() validation.Record { return validation.Records(ending{t}, "good.csv")[0] }
	for _, c := range []struct {
		do   func()
		want string
	}{
		{func() { validation.Records(ending{t}, "absent.csv") }, "absent.csv"},
		{func() { validation.Records(ending{t}, "none.csv") }, "none.csv holds no rows"},
		{func() { validation.Records(ending{t}, "odd.csv") }, "odd.csv"},
		{func() { good().Text("m") }, `good.csv has no column "m"`},
		{func() { good().Number("name") }, "good.csv, name"},
		{func() { good().Whole("n") }, "good.csv, n"},
	} {
		said := func() (said string) {
			defer func() { said = fmt.Sprint(recover()) }()
			c.do()
			return ""
		}()
		if !strings.Contains(said, c.want) {
			t.Errorf("ended with %q, want %q", said, c.want)
		}
	}
}
