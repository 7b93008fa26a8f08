package bookfile_test

import (
	"bytes"
	"fmt"
	"math"
	"reflect"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"slabside/internal/book"
	"slabside/internal/bookfile"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/shoptest"
)

// sound fails the test on any error of a file; cautions pass.
func sound(t *testing.T, name string, data []byte) book.Book {
	t.Helper()
	b, problems, err := bookfile.Decode(name, data)
	if err != nil {
		for _, p := range problems {
			t.Log(p)
		}
		t.Fatal(err)
	}
	return b
}

func TestDemoIsSound(t *testing.T) {
	t.Parallel()
	b := sound(t, bookfile.DemoName, bookfile.Demo())
	if len(b.Recipes) != 8 || len(b.Rolls) != 6 || len(b.Hands) != 3 {
		t.Errorf("the demo shop has %d recipes, %d pairs of rolls, %d hands", len(b.Recipes), len(b.Rolls), len(b.Hands))
	}
}

// Demo returns a copy: what a caller does to it stays with the caller.
func TestDemoIsACopy(t *testing.T) {
	t.Parallel()
	one := bookfile.Demo()
	one[0] = 'x'
	if bookfile.Demo()[0] == 'x' {
		t.Error("two callers share the demo's bytes")
	}
}

// filler sets every field under v to a value no other field has, none of them
// zero. It fails on a kind of field it does not know, so that a new kind of
// field cannot slip past the round trip.
type filler struct {
	t *testing.T
	n int
}

func (f *filler) fill(v reflect.Value) {
	f.n++
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		f.fill(v.Elem())
	case reflect.Struct:
		for i := range v.NumField() {
			f.fill(v.Field(i))
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		f.fill(v.Index(0))
		f.fill(v.Index(1))
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		for range 2 {
			f.n++
			v.SetMapIndex(reflect.ValueOf(fmt.Sprintf("family %d", f.n)), reflect.ValueOf(f.n))
		}
	case reflect.String:
		if v.Type() == reflect.TypeFor[q.Money]() {
			v.SetString(fmt.Sprintf("%d.80 GBP", f.n))
			return
		}
		v.SetString(fmt.Sprintf("text %d: \"quoted\" \\ back, tab\tline\nbell\a é ’", f.n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int:
		v.SetInt(int64(f.n))
	case reflect.Int64: // a duration
		v.SetInt(int64(f.n) * int64(time.Second))
	case reflect.Float64:
		x := float64(f.n) + 0.25
		if v.Type() == reflect.TypeFor[q.Fraction]() {
			// A share as a person writes it; see TestEverySoundAmountReadsBack.
			var share q.Fraction
			if err := share.UnmarshalText(fmt.Appendf(nil, "%g %%", float64(f.n)/8)); err != nil {
				f.t.Fatal(err)
			}
			x = float64(share)
		}
		v.SetFloat(x)
	default:
		f.t.Fatalf("no way to fill a field of kind %s", v.Kind())
	}
}

func filled(t *testing.T) book.Book {
	var b book.Book
	(&filler{t: t}).fill(reflect.ValueOf(&b).Elem())
	return b
}

// Nothing is lost, whatever a field holds: every field of every type is set, by
// reflection, and comes back. Most of these values cannot be meant, so the
// problems are many, but they are problems, not losses.
func TestRoundTripSetsEveryField(t *testing.T) {
	t.Parallel()
	want := filled(t)
	data, err := bookfile.Encode(want)
	if err != nil {
		t.Fatal(err)
	}
	got, problems, err := bookfile.Decode("filled.toml", data)
	if err == nil {
		t.Error("a book of nonsense was read without an error")
	}
	for _, p := range problems {
		switch p.Code {
		case bookfile.Syntax, bookfile.UnknownKey, bookfile.WrongType, bookfile.BadAmount, bookfile.BadFile:
			t.Errorf("what was written cannot be read: %s", p)
		}
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("lost on the way (-written +read):\n%s", d)
	}
}

func TestRoundTripOfShops(t *testing.T) {
	t.Parallel()
	shops := map[string]book.Book{
		"demo":  sound(t, bookfile.DemoName, bookfile.Demo()),
		"book":  shoptest.Book(),
		"small": shoptest.Small(),
		"zero":  {},
	}
	for name, want := range shops {
		data, err := bookfile.Encode(want)
		if err != nil {
			t.Fatal(err)
		}
		again, err := bookfile.Encode(want)
		if err != nil || !bytes.Equal(data, again) {
			t.Errorf("%s: written twice, different bytes (%v)", name, err)
		}
		got, _, err := bookfile.Decode(name, data)
		if err != nil && name != "zero" {
			t.Errorf("%s: %v", name, err)
		}
		if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
			t.Errorf("%s (-written +read):\n%s", name, d)
		}
		third, err := bookfile.Encode(got)
		if err != nil || !bytes.Equal(data, third) {
			t.Errorf("%s: written, read, written: different bytes (%v)", name, err)
		}
	}
}

// The law of amounts: whatever a person can write for a share, a mass, a
// temperature in any unit reads back to the same value after it was written by
// the program.
func TestEverySoundAmountReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := shoptest.Small()
		num := func(name string, low, high float64) string {
			return fmt.Sprintf("%.*g", rapid.IntRange(1, 9).Draw(t, name+" digits"), rapid.Float64Range(low, high).Draw(t, name))
		}
		read := func(into interface{ UnmarshalText([]byte) error }, s string) {
			if err := into.UnmarshalText([]byte(s)); err != nil {
				t.Fatal(err)
			}
		}
		read(&b.Room.Humidity, num("humidity", 10, 90)+" %")
		read(&b.Recipes[0].WaterLeft, num("water", 6000, 90000)+" ppm")
		read(&b.Recipes[0].BoilTo, num("boil", 240, 330)+" "+rapid.SampledFrom([]string{"F", "C"}).Draw(t, "scale"))
		read(&b.Recipes[0].Boil[0].Mass, num("mass", 0.1, 90)+" "+rapid.SampledFrom([]string{"lb", "oz", "kg", "g", "mg"}).Draw(t, "unit"))
		read(&b.Room.Altitude, num("altitude", -300, 4000)+" "+rapid.SampledFrom([]string{"ft", "m", "in", "mm", "um", "mil"}).Draw(t, "length"))
		read(&b.Kettles[0].Burner, num("burner", 1000, 90000)+" "+rapid.SampledFrom([]string{"BTU/h", "W", "kW"}).Draw(t, "power"))
		read(&b.Kettles[0].Volume, num("volume", 1, 90)+" "+rapid.SampledFrom([]string{"L", "gal", "qt", "floz"}).Draw(t, "volume unit"))
		read(&b.Room.StationPressure, num("pressure", 20, 32)+" "+rapid.SampledFrom([]string{"inHg", "kPa"}).Draw(t, "pressure unit"))
		read(&b.Glasses[0].Offset, num("offset", -9, 9)+" "+rapid.SampledFrom([]string{"K", "F"}).Draw(t, "offset unit"))
		read(&b.Room.Times.Turn, num("turn", 1, 90)+" "+rapid.SampledFrom([]string{"min", "s", "h"}).Draw(t, "time unit"))
		b.Rolls[0].PerPound = rapid.Float64Range(9, 4000).Draw(t, "per pound")
		b.Shop.Name = rapid.String().Draw(t, "name")
		b.Recipes[0].Flavour.Tolerates = rapid.MapOf(rapid.String(), rapid.IntRange(-9, 9)).Draw(t, "tolerates")

		data, err := bookfile.Encode(b)
		if err != nil {
			t.Fatal(err)
		}
		got, _, _ := bookfile.Decode("law.toml", data)
		if d := cmp.Diff(b, got, cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("(-written +read):\n%s\n%s", d, data)
		}
	})
}

func TestEncodeRefusesWhatCannotBeRead(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*book.Book){
		"not a number":  func(b *book.Book) { b.Kettles[0].UsualCharge = q.Kilograms(math.NaN()) },
		"infinite rate": func(b *book.Book) { b.Room.Times.RollRate = math.Inf(1) },
		"not UTF-8":     func(b *book.Book) { b.Shop.Name = "caf\xe9" },
	} {
		b := shoptest.Book()
		spoil(&b)
		if _, err := bookfile.Encode(b); fault.KindOf(err) != fault.KindInvalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A file reads well: headings, units people use, nothing unset.
func TestEncodeReadsWell(t *testing.T) {
	t.Parallel()
	b := shoptest.Book()
	b.Recipes[0].Boil[0].Mass = 14 * q.KilogramsPerPound
	data, err := bookfile.Encode(b)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"# Pairs of rolls\n\n[[rolls]]\n",
		`burner = "15 kW"`, `smear = "90 g"`, `first_turn = "2.5 min"`, `piece = "3.8 g"`, `mass = "14 lb"`, `weigh_line = "1 min"`,
		"tested = { by = \"county laboratory\", on = \"2026-01-20\" }\n",
		"flavour = { family = \"nut\", carry_over = 3, taint_limit = 2, tolerates = { pear = 3 } }\n",
	} {
		if !bytes.Contains(data, []byte(want)) {
			t.Errorf("not in the file: %s", want)
		}
	}
	for _, unset := range []string{"lining", "station_pressure", "trials_only", "efficiency_low"} {
		if bytes.Contains(data, []byte(unset)) {
			t.Errorf("%s is not set, but stands in the file", unset)
		}
	}
}
