package web

import (
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"slabside/internal/app"
	"slabside/internal/book"
	"slabside/internal/fault"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
)

// batchView is one batch sheet on the screen.
type batchView struct {
	Base      base
	ID        string
	N, Of     int
	Name      string
	Size      string
	Charge    string
	DateLong  string
	Back      string
	Trial     string // what a trial day costs; empty on the kept one
	Prev      string
	NextHref  string
	Kettle    string
	Metal     string
	Lead      string
	Glass     string
	Dial      figure
	DialSlip  *slip
	Facts     []factView
	Steps     []sheetStep
	Portions  []portionView
	Stock     []app.StockSolution
	Allergens string
	MayHold   string // what suppliers say it may contain
	Unstated  string
	Cautions  []cautionView // those without a step
	PDF       string
	Recipe    string // id
	ChargeKg  string // for the form that begins its record
}

// sheetStep is one step of the sheet: a time, a verb, what to do and what to write down.
type sheetStep struct {
	ID       string
	Time     string
	Verb     string
	Text     string
	Lines    []string
	Times    app.OnSlab
	Weigh    []weighStage
	Boxes    []string // what is written down by hand
	Cautions []cautionView
}

type weighStage struct {
	Name  string
	Lines []weighView
}

type weighView struct {
	Name, Portion, Show, Scale string
	Coarse                     bool // no scale here resolves it
	Lots                       string
	Allergens                  string
}

type portionView struct {
	ID, Paint, Colour, Work string
	Mass                    string
	Sound, Pieces, PieceG   figure
}

// factView is a computed figure with its slip.
type factView struct {
	Name string
	figure
	Slip *slip
	Was  string // the same of what is held against it
	Same bool
}

// slip says where a computed number comes from.
type slip struct {
	Of      string // what is explained, where "why" alone would not tell a listener
	Formula string // with the numbers put in; empty where a model stands behind it
	Text    string
	Inputs  []pair
	Sources []sourceView
}

func (s *server) batch(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	cut := strings.LastIndexByte(id, '-')
	if cut < 0 {
		return errNoBatch()
	}
	b, _, err := s.shop.Book(r.Context())
	if err != nil {
		return err
	}
	req, err := s.askedDay(r, b)
	if err != nil {
		return err
	}
	req.Date = id[:cut]
	if longDate(req.Date) == req.Date { // not a date
		return errNoBatch()
	}
	p, err := s.plan(r.Context(), req)
	if err != nil {
		return err
	}
	for i := range p.Batches {
		if p.Batches[i].ID == id {
			return s.render(w, http.StatusOK, "batch", s.batchView(r, &b, p, i, req))
		}
	}
	return errNoBatch()
}

func errNoBatch() error {
	return fault.NotFound("there is no such boil in that day's plan").WithHint("choose it from the making day; the plan may have changed since the link was made")
}

// readFigure is the mark to look for on the glass, with the range of the computed
// reading behind it.
func readFigure(u q.Reader, read string, dial q.Estimate) figure {
	f := figureOf(u.SayTemperature(dial, 0))
	f.Value = read
	return f
}

func (s *server) batchView(r *http.Request, bk *book.Book, p *app.DayPlan, i int, req app.PlanRequest) batchView {
	b := &p.Batches[i]
	query := dayQuery(req)
	v := batchView{Base: s.base(r, "Boil "+strconv.Itoa(b.N)+", "+b.Name, "/"), ID: b.ID, Recipe: b.Recipe, ChargeKg: chargeText(p.Units, float64(b.ChargeKg)), N: b.N, Of: len(p.Batches), Name: b.Name,
		Size: sizeWord(b.Size), Charge: p.Units.Mass(q.Kilograms(b.ChargeKg)), DateLong: longDate(p.Date), Back: "/" + query,
		Kettle: b.Sheet.Kettle, Metal: b.Sheet.Metal, Lead: b.Lead, Glass: p.Glass,
		Dial: readFigure(p.Units, b.Sheet.Read, b.Sheet.DialC), Stock: b.Sheet.Stock,
		Allergens: app.Listed(b.Sheet.Allergens), MayHold: b.Sheet.MayContainText(), Unstated: app.Listed(b.Sheet.Unstated)}
	if p.Compared != nil {
		v.Trial = sentence(p.Compared.Cost)
	}
	v.DialSlip = dialSlip(p.Units, b.Sheet.BoilC, b.Sheet.DialC, readGlass(bk), q.Pascals(p.PressurePa.Value))
	if i > 0 {
		v.Prev = batchHref(p.Batches[i-1].ID, query)
	}
	if i+1 < len(p.Batches) {
		v.NextHref = batchHref(p.Batches[i+1].ID, query)
	}
	if s.opt.BatchSheets != nil {
		v.PDF = "/sheets.pdf" + query
	}
	v.Facts = sheetFacts(p.Units, b)
	for _, po := range b.Portions {
		v.Portions = append(v.Portions, portionView{ID: po.ID, Paint: paintOf(po.Paint), Colour: po.Colour, Work: workWord(po.Work),
			Mass: p.Units.Mass(q.Kilograms(po.MassKg)), Sound: figureOf(p.Units.SayMass(po.SoundKg)),
			Pieces: figureOf(p.Units.SayCount(po.Pieces, "pieces")), PieceG: figureOf(p.Units.SayMass(po.PieceG.Scale(1e-3)))})
	}
	v.Steps = sheetSteps(p, b, b.OnSlab(p.Units))
	v.Steps = slices.Insert(v.Steps, slices.IndexFunc(v.Steps, func(x sheetStep) bool { return x.ID == "flame" }), checksStep(bk, b.Recipe))
	placed := map[string]bool{}
	for _, st := range v.Steps {
		placed[st.ID] = true
	}
	for _, c := range b.Cautions {
		if !placed[c.At] {
			v.Cautions = append(v.Cautions, cautionsOf([]app.Caution{c})...)
		}
	}
	return v
}

func workWord(w string) string {
	switch recipe.Work(w) {
	case recipe.Clear:
		return "folded clear"
	case recipe.Pulled:
		return "pulled"
	}
	return w
}

// sheetFacts is what the boil comes to.
func sheetFacts(u q.Reader, b *app.Batch) []factView {
	sh := &b.Sheet
	var out []factView
	add := func(name string, e q.Estimate, said string) {
		if known(e) {
			out = append(out, factView{Name: name, figure: figureOf(said)})
		}
	}
	add("boils here at, true", sh.BoilC, u.SayTemperature(sh.BoilC, 1))
	add("water left", sh.WaterFrac, u.SayPercent(sh.WaterFrac, 1))
	add("in the kettle at the lift", sh.LiftKg, u.SayMass(sh.LiftKg))
	add("water boiled off", sh.WaterOffKg, u.SayMass(sh.WaterOffKg))
	add("on the slab, additions in", sh.FinishedKg, u.SayMass(sh.FinishedKg))
	if g := sh.GlassC; g != nil {
		add("stands up to", *g, u.SayTemperature(*g, 0))
	}
	add("time on the flame", sh.BoilTimeS, u.SayMinutes(sh.BoilTimeS))
	add("heat", sh.EnergyKWh, sayNumber(u, sh.EnergyKWh, 1, "kWh"))
	add("sound pieces", b.Pieces, u.SayCount(b.Pieces, "pieces"))
	return out
}

// sayNumber prints an estimate in a unit that package quantity does not say.
func sayNumber(u q.Reader, e q.Estimate, dec int, unit string) string {
	s := u.Number(e.Value, dec) + " " + unit
	if e.Spread() {
		s += " (" + u.Number(e.Low, dec) + "–" + u.Number(e.High, dec) + ")"
	}
	switch e.Basis {
	case q.Estimated:
		s += ", estimated"
	case q.Learned:
		s += ", learned from " + count(e.Batches, "batch", "batches")
	}
	return s
}

// stageNames says when a weighed line is used.
var stageNames = map[string]string{
	"kettle": "into the kettle", "boil": "in the boiling syrup", "end": "at the end of the boil",
	"pour": "at the pour", "fold": "folded in on the slab", "finish": "finish",
}

// before is what is cleaned and changed before a boil, with a box for who did it;
// nothing if there is nothing to do.
func before(list []app.SetUp) sheetStep {
	if len(list) == 0 {
		return sheetStep{}
	}
	st := sheetStep{ID: "before", Time: "from " + clock(list[0].Begin), Verb: "Clean and change first"}
	for _, x := range list {
		done := sentence(x.Act) + " " + clock(x.Begin) + "–" + clock(x.End) + ", " + x.Hand
		st.Lines = append(st.Lines, done)
		box := x.Act + ": done by"
		if x.Verify {
			box = x.Act + ": verified by"
		}
		st.Boxes = append(st.Boxes, box)
	}
	return st
}

// checksStep is what is looked at before the flame, a box each. What is cleaned for an
// allergen has its box in the step before.
func checksStep(bk *book.Book, id string) sheetStep {
	st := sheetStep{ID: "checks", Time: "before the flame", Verb: "Look", Text: "Not before the flame with a no, or a box that is empty."}
	for _, x := range app.ChecksOnSheet(bk, id) {
		st.Boxes = append(st.Boxes, app.CheckName(x))
	}
	return st
}

// sheetSteps lays the sheet out in the order of the work.
func sheetSteps(p *app.DayPlan, b *app.Batch, on app.OnSlab) []sheetStep {
	boil := "From the hold point up it is watched and nothing waits."
	steps := []sheetStep{
		{ID: "weigh", Time: "by " + clock(b.WeighBy), Verb: "Weigh in", Text: "Each line on its scale; write what the scale says, and the lot.", Boxes: nil},
		before(p.Before(b.ID)),
		{ID: "flame", Time: clock(b.FlameUp), Verb: "Light / flame up", Text: "Load the kettle from " + clock(b.ChargeAt) + ".", Boxes: []string{"flame up at"}},
		{ID: "hold", Time: clock(b.Hold), Verb: "Watch", Text: boil},
		{ID: "end", Time: clock(b.Pour), Verb: "Lift at the reading", Text: "", Boxes: []string{"read on the glass", "lifted at", "kettle weighed"}},
		{ID: "pour", Time: clock(b.Pour) + "–" + clock(b.PourEnd), Verb: "Pour", Text: "", Boxes: []string{"poured at"}},
		{ID: "slab", Time: "from " + clock(b.PourEnd), Verb: "Slab", Text: slabText(b), Times: on, Boxes: nil},
		{ID: "rolls", Time: clock(b.RollStart) + "–" + clock(b.RollEnd), Verb: "Rolls", Text: rollText(p.Units, b), Lines: some(on.Rolls), Boxes: []string{"rolls whole before", "rolls whole after", "last sheet at"}},
		{ID: "sieve", Time: clock(b.Cool), Verb: "Break and sieve", Text: "", Boxes: []string{"sound pieces, weight", "siftings, weight"}},
		{ID: "pack", Time: "by " + clock(b.Done), Verb: "Pack", Text: "", Boxes: []string{"bags packed", "left over, weight"}},
	}
	steps = slices.DeleteFunc(steps, func(s sheetStep) bool { return s.ID == "" })
	for i := range steps {
		for _, c := range b.Cautions {
			if c.At == steps[i].ID {
				steps[i].Cautions = append(steps[i].Cautions, cautionsOf([]app.Caution{c})...)
			}
		}
	}
	steps[0].Weigh = weighStages(b.Sheet.Weigh)
	return steps
}

// weighStages groups the lines by when they are used, in the sheet's order.
func weighStages(lines []app.WeighLine) []weighStage {
	var out []weighStage
	for _, l := range lines {
		name, ok := stageNames[l.Stage]
		if !ok {
			name = l.Stage
		}
		if len(out) == 0 || out[len(out)-1].Name != name {
			out = append(out, weighStage{Name: name})
		}
		last := &out[len(out)-1]
		last.Lines = append(last.Lines, weighOf(l))
	}
	return out
}

func weighOf(l app.WeighLine) weighView {
	return weighView{Name: l.Name, Portion: l.Portion, Show: l.Show, Scale: l.Scale, Coarse: !l.Fine,
		Lots: strings.Join(l.Lots, ", "), Allergens: app.Listed(l.Allergens)}
}

// some is a list of one line; empty without it.
func some(line string) []string {
	if line == "" {
		return nil
	}
	return []string{line + "."}
}

func slabText(b *app.Batch) string {
	var works []string
	for _, po := range b.Portions {
		if w := workWord(po.Work); po.Colour != "" {
			works = append(works, po.Colour+" "+w)
		} else {
			works = append(works, w)
		}
	}
	s := "First turn when the edge lifts clean"
	if len(works) > 0 {
		s += "; " + app.Listed(works)
	}
	return s + "."
}

func rollText(u q.Reader, b *app.Batch) string {
	s := sentence(b.RollsName) + ": " + u.Number(float64(b.Sheet.RollMin), 0) + " min of rolling, in condition for " + u.Number(float64(b.Sheet.RollBandMin), 0) + " min"
	if b.Shape != "" {
		s += ", rolled " + b.Shape + " in that time"
	}
	return s + "."
}

// dialSlip shows how the reading comes from the true temperature and the error
// of this glass. The sum is shown only if the shown numbers give it.
func dialSlip(u q.Reader, boil, dial q.Estimate, glass rig.Glass, pressure q.Pascals) *slip {
	if !known(boil) || !known(dial) {
		return nil
	}
	sl := &slip{Text: "What this glass reads when the boil is at its true temperature. In the room the glass decides, not this figure."}
	if math.Abs(boil.Value+float64(glass.Offset)-dial.Value) < 0.05 {
		sign, off := "+", glass.Offset
		if off < 0 {
			sign, off = "−", -off
		}
		sl.Formula = u.Temperature(q.Celsius(boil.Value), 2) + " true " + sign + " " + u.Difference(off, 2) + " error of the glass = " + u.Temperature(q.Celsius(dial.Value), 1)
	}
	sl.Inputs = []pair{{"glass", glass.Name}}
	if glass.Class > 0 {
		sl.Inputs = append(sl.Inputs, pair{"good to", "± " + u.Difference(glass.Class, 1)})
	}
	if pressure > 0 {
		sl.Inputs = append(sl.Inputs, pair{"pressure of the air here", u.Pressure(pressure)})
	}
	return sl
}

// readGlass is the thermometer that is read; without one, a glass without an
// error of its own.
func readGlass(b *book.Book) rig.Glass {
	if g, ok := b.DayGlass(); ok {
		return g
	}
	return rig.Glass{Offset: q.Kelvins(math.NaN())}
}

// chargeText is a charge as the form that begins a record takes it.
func chargeText(u q.Reader, kg float64) string {
	return q.Metric.With(u.Decimal()).Number(kg, 6) + " kg"
}
