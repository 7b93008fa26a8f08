package heat

import (
	"flag"
	"fmt"
	"math"
	"strings"
	"testing"

	"slabside/internal/validation"
)

var update = flag.Bool("update", false, "rewrite the committed summary")

func TestValidation(t *testing.T) {
	t.Parallel()
	var tables []validation.Table
	tables = append(tables, exactTables(t)...)
	tables = append(tables, rootTables(t)...)
	tables = append(tables, exampleTables(t)...)
	tables = append(tables, faceTables(t)...)
	tables = append(tables, slabTables(t)...)
	validation.Check(t, *update, tables...)
}

// The matter of the composite cases: constant properties, as in their table.
func steel() Matter     { return Matter{Heat: ConstantHeat(470), Density: 7850, K: 50} }
func stainless() Matter { return Matter{Heat: ConstantHeat(490), Density: 7900, K: 15} }
func plain() Matter     { return Matter{Heat: ConstantHeat(1950), Density: 1480, K: 0.30} }

// unit is matter in which time is Fourier's number and a film Biot's.
func unit() Matter { return Matter{Heat: ConstantHeat(1), Density: 1, K: 1} }

// stack returns a stack that must be one, with a bound [K].
func stack(t testing.TB, bound float64, below, above Face, layers ...Layer) *Stack {
	t.Helper()
	s, err := NewStack(below, above, layers...)
	if err != nil {
		t.Fatal(err)
	}
	s.Bound = bound
	return s
}

// to lets time pass until a moment.
func (s *Stack) to(t testing.TB, at float64) *Stack {
	t.Helper()
	if err := s.Advance(at - s.Time()); err != nil {
		t.Fatal(err)
	}
	return s
}

// figures reads the numbers after the names of a text: "Bi=16;Fo=0.1".
func figures(t testing.TB, text string) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, part := range strings.Split(text, ";") {
		name, value, ok := strings.Cut(part, "=")
		var v float64
		if _, err := fmt.Sscan(value, &v); ok && err == nil {
			out[name] = v
		}
	}
	return out
}

// read returns the only figure of a text: "t=30 s".
func read(t testing.TB, text string) float64 {
	t.Helper()
	for _, v := range figures(t, text) {
		return v
	}
	t.Fatalf("%q holds no figure", text)
	return 0
}

// exactTables holds the solver against exact solutions: every row.
func exactTables(t *testing.T) []validation.Table {
	about := map[string][2]string{
		"A1": {"wall with convection", "Bi 0.1, Fo 1"}, "A2": {"wall with convection", "Bi 1, Fo 0.5"}, "A4": {"wall with convection", "Bi 16, Fo 0.1"},
		"B1": {"wall, sides held", "Fo 0.02 to 0.5"}, "B2": {"wall, heat driven in", "Fo 0.05 to 1"},
		"C1": {"deep candy with convection", "100 to 1000 W/(m² K), 30 and 120 s"}, "D1": {"side between candy and steel", "5 s"},
		"F1": {"candy on a steel plate, contact between", "30 to 600 s"},
		"G1": {"lump, constant film", "60 to 900 s"}, "G2": {"lump, film that falls", "60 to 900 s"}, "H1": {"sphere with convection", "Bi 0.3 to 10, Fo 0.2 and 0.5"},
	}
	var tables []validation.Table
	byCase := map[string]int{}
	for _, r := range validation.Records(t, "conduction-reference-cases.csv") {
		name := r.Text("case")
		i, ok := byCase[name]
		if !ok {
			table := validation.Table{Model: "stack of 200 cells and more, bound 10⁻⁵", Quantity: about[name][0], Unit: "of the whole step", Range: about[name][1], Kind: validation.Exact,
				Why: "case " + name + ": a hundredth of a per cent of the step, what so many cells leave over"}
			switch name {
			case "D1", "F1":
				table.Unit, table.Why = "K", "case "+name+": what so many cells leave over, a few hundredths of a kelvin of 120"
			case "G1", "G2":
				table.Model, table.Why = "lump in steps of 5 s", "case "+name+": Runge and Kutta's fourth order leaves nothing that shows"
			}
			i, byCase[name] = len(tables), len(tables)
			tables = append(tables, table)
		}
		tables[i].Rows = append(tables[i].Rows, exactRow(t, r))
	}
	if len(tables) != len(about) {
		t.Errorf("%d cases in the table, %d told of", len(tables), len(about))
	}
	return append(tables, acceptance(t))
}

func exactRow(t *testing.T, r validation.Record) validation.Row {
	params, position := r.Text("parameters"), r.Text("position")
	name := strings.Join([]string{params, position, r.Text("time")}, ", ")
	row := validation.Row{Name: name, Want: r.Number("value"), Tol: 1e-4, Key: r.Key()}
	wall := func(above Face) *Stack {
		return stack(t, 1e-5, Face{}, above, Layer{Matter: unit(), Thickness: 1, Cells: 200, TempC: 1})
	}
	place := func(s *Stack) float64 {
		if position == "mean" {
			return s.Mean(0)
		}
		return s.At(0, read(t, position))
	}
	switch r.Text("case") {
	case "A1", "A2", "A4":
		row.Got = place(wall(Face{Film: figures(t, params)["Bi"]}).to(t, read(t, r.Text("time"))))
	case "B1":
		row.Got = place(wall(Face{Film: math.Inf(1)}).to(t, read(t, r.Text("time"))))
	case "B2":
		s := wall(Face{Flux: 1}).to(t, read(t, r.Text("time")))
		row.Got = place(s) - 1
	case "C1":
		const deep, cells = 0.05, 1000
		s := stack(t, 1e-5, Face{Film: figures(t, params)["h"]}, Face{}, Layer{Matter: plain(), Thickness: deep, Cells: cells, TempC: 1})
		row.Got = 1 - s.to(t, read(t, r.Text("time"))).At(0, read(t, strings.TrimSuffix(position, " m"))/deep)
	case "D1":
		plate := steel()
		if strings.Contains(params, "stainless") {
			plate = stainless()
		}
		s := stack(t, 1e-3, Face{}, Face{}, Layer{Matter: plate, Thickness: 0.1, Cells: 500, TempC: 18},
			Layer{Matter: plain(), Thickness: 0.01, Cells: 500, TempC: 140}).to(t, 5)
		row.Got, row.Tol = s.At(1, 0), 0.05
		if both := s.At(0, 1); math.Abs(both-row.Got) > 0.1 {
			t.Errorf("%s: the plate's side is at %.3f °C, the candy's at %.3f", name, both, row.Got)
		}
	case "F1":
		row.Got, row.Tol = f1(t, params, position, read(t, r.Text("time")), 320, 1e-3), 0.03
	case "G1", "G2":
		f := figures(t, params)
		film := func(theta float64) float64 { return f["h"] }
		if r.Text("case") == "G2" {
			film = func(theta float64) float64 { return f["h_i"] * math.Pow(theta, f["n"]) }
		}
		l := Lump{Heat: ConstantHeat(f["rho*c"]), Takes: func(_, theta float64) float64 { return film(theta) * theta / f["V/A"] }}
		row.Got, row.Tol = l.Cool(0, 1, read(t, r.Text("time"))), 1e-8
	case "H1":
		s, err := NewSphere(Face{Film: figures(t, params)["Bi=h r0/k"]}, Layer{Matter: unit(), Thickness: 1, Cells: 200, TempC: 1})
		if _, bi, ok := strings.Cut(params, "r0/k="); ok {
			s.Above.Film = read(t, "Bi="+bi)
		}
		if err != nil {
			t.Fatal(err)
		}
		s.Bound = 1e-5
		row.Got = place(s.to(t, read(t, r.Text("time"))))
	default:
		t.Fatalf("nothing is told of case %q", r.Text("case"))
	}
	return row
}

// f1 is a temperature of the composite case.
func f1(t testing.TB, params, position string, at float64, cells int, bound float64) float64 {
	plate := steel()
	if strings.Contains(params, "stainless") {
		plate = stainless()
	}
	s := stack(t, bound, Face{AmbientC: 20, Film: 800}, Face{AmbientC: 20, Film: 15},
		Layer{Matter: plate, Thickness: 0.010, Cells: cells * 2 / 5, TempC: 20},
		Layer{Matter: plain(), Thickness: 0.020, Cells: cells, TempC: 140, Contact: 500}).to(t, at)
	switch position {
	case "steel face":
		return s.At(0, 1)
	case "candy bottom face":
		return s.At(1, 0)
	case "candy middle":
		return s.At(1, 0.5)
	case "candy top":
		return s.At(1, 1)
	case "candy mean":
		return s.Mean(1)
	}
	t.Fatalf("no place is %q", position)
	return 0
}

// acceptance is the composite case as a slab is cut in use: 40 cells, the usual bound.
func acceptance(t *testing.T) validation.Table {
	table := validation.Table{Model: "stack of 40 candy cells, the usual bound", Quantity: "candy on a steel plate: mean and middle", Unit: "K", Range: "30 to 600 s",
		Kind: validation.Exact, Why: "case F1 as it is used: a tenth of a kelvin was asked for"}
	for _, r := range validation.Records(t, "conduction-reference-cases.csv") {
		position := r.Text("position")
		if r.Text("case") != "F1" || position != "candy mean" && position != "candy middle" {
			continue
		}
		params := r.Text("parameters")
		table.Rows = append(table.Rows, validation.Row{Name: strings.Join([]string{params, position, r.Text("time")}, ", "),
			Got: f1(t, params, position, read(t, r.Text("time")), 40, 0), Want: r.Number("value"), Tol: 0.1, Key: r.Key()})
	}
	return table
}

// wallRoot is the first root of z tan z = Bi, by halving, and the weight of its term.
func wallRoot(bi float64) (z, c float64) {
	low, high := 0.0, math.Pi/2
	for range 200 {
		if z = (low + high) / 2; z*math.Sin(z) < bi*math.Cos(z) {
			low = z
		} else {
			high = z
		}
	}
	return z, 4 * math.Sin(z) / (2*z + math.Sin(2*z))
}

// sphereRoot is that of 1 − z cot z = Bi.
func sphereRoot(bi float64) (z, c float64) {
	low, high := 0.0, math.Pi
	for range 200 {
		if z = (low + high) / 2; (1-bi)*math.Sin(z) < z*math.Cos(z) {
			low = z
		} else {
			high = z
		}
	}
	return z, 4 * (math.Sin(z) - z*math.Cos(z)) / (2*z - math.Sin(2*z))
}

// The roots that the one-term values stand on: as printed, to half of the last figure,
// and to twelve digits as found elsewhere.
func TestWallRoot(t *testing.T) {
	t.Parallel()
	for _, r := range validation.Records(t, "heisler-plane-wall.csv") {
		z, c := wallRoot(r.Number("Bi"))
		for _, v := range []struct {
			column   string
			got, tol float64
		}{{"zeta1_table", z, 5.1e-5}, {"C1_table", c, 5.1e-5}, {"zeta1_rad_computed", z, 1e-12}, {"C1_computed", c, 1e-12}} {
			if math.Abs(v.got-r.Number(v.column)) > v.tol {
				t.Errorf("Bi %s: %s is %.13g, want %s", r.Text("Bi"), v.column, v.got, r.Text(v.column))
			}
		}
	}
}

// rootTables holds the solver against the one-term values at every Biot number.
func rootTables(t *testing.T) []validation.Table {
	term := validation.Table{Model: "stack of 200 cells, bound 10⁻⁵", Quantity: "middle, side and mean of the wall by one term", Unit: "of the whole step", Range: "Bi 0.01 to 100, Fo 1 and 2",
		Kind: validation.Exact, Why: "the second term is below 10⁻⁵ from Fo 1; what so many cells leave over"}
	for _, r := range validation.Records(t, "heisler-plane-wall.csv") {
		bi := r.Number("Bi")
		name := "Bi " + r.Text("Bi")
		s := stack(t, 1e-5, Face{}, Face{Film: bi}, Layer{Matter: unit(), Thickness: 1, Cells: 200, TempC: 1})
		z, c := wallRoot(bi)
		for _, fo := range []float64{1, 2} {
			s.to(t, fo)
			e := c * math.Exp(-z*z*fo)
			at := fmt.Sprintf("%s, Fo %g, ", name, fo)
			term.Rows = append(term.Rows,
				validation.Row{Name: at + "middle", Got: s.At(0, 0), Want: e, Tol: 1e-4, Key: r.Key()},
				validation.Row{Name: at + "side", Got: s.At(0, 1), Want: e * math.Cos(z), Tol: 1e-4, Key: r.Key()},
				validation.Row{Name: at + "mean", Got: s.Mean(0), Want: e * math.Sin(z) / z, Tol: 1e-4, Key: r.Key()})
		}
	}
	lumped := term.Against("wall of one temperature", "no resistance within: has to fail", func(r validation.Row) float64 {
		var bi, fo float64
		if _, err := fmt.Sscanf(r.Name, "Bi %g, Fo %g", &bi, &fo); err != nil {
			t.Fatal(err)
		}
		return math.Exp(-bi * fo)
	})
	return []validation.Table{term, lumped}
}
