package web

import (
	"errors"
	"net/http"
	"strings"

	"slabside/internal/app"
	"slabside/internal/fault"
	"slabside/internal/packing"
	q "slabside/internal/quantity"
)

// What is sent to write to the ledgers of the packing. Corrects is the act of the entry
// that it stands in place of, 0 for none.
type (
	// APIPack packs bags: into a new lot under the number of the address, or more into
	// one that is there.
	APIPack struct {
		Why        string   `json:"why,omitempty"` // more goes in than is known to be left
		Corrects   int64    `json:"corrects_act,omitempty"`
		New        bool     `json:"new,omitempty"`
		Product    string   `json:"product,omitempty"`
		Batches    []string `json:"batches,omitempty"`
		Bags       int64    `json:"bags"`
		TareMg     int64    `json:"tare_mg,omitempty"`
		Scale      string   `json:"scale,omitempty"`
		BestBefore string   `json:"best_before,omitempty"`
		WeighedMg  []int64  `json:"weighed_mg,omitempty"` // what the scale showed of bags that were weighed once more
		MassMg     int64    `json:"mass_mg,omitempty"`    // all that went in, if it was weighed
		Packaging  []string `json:"packaging,omitempty"`  // lots of bags, labels and the like that were opened for them
	}
	// APIMove takes bags out of a lot.
	APIMove struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		packing.Moved
	}
	// APIBagCount says what a count of the bags found.
	APIBagCount struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		packing.Counted
	}
	// APIFill puts loose sweets into a jar.
	APIFill struct {
		Why    string `json:"why,omitempty"` // more goes in than is known to be left
		Batch  string `json:"batch"`
		MassMg int64  `json:"mass_mg"`
	}
	// APITake takes something of a jar, or of the loose sweets of a batch.
	APITake struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		packing.Taken
	}
	// APILeft says what the scale found left.
	APILeft struct {
		Why      string `json:"why,omitempty"`
		Corrects int64  `json:"corrects_act,omitempty"`
		packing.Left
	}
	// APIDay says on which day it was done.
	APIDay struct {
		Why string `json:"why,omitempty"`
		On  string `json:"on"`
	}
)

// packingEndpoints are what is packed, and what is done with it.
func (s *server) packingEndpoints() []endpoint {
	product := param{name: "product", help: "Which product.", example: "rhubarb-fish-113", must: true}
	write := func(path, answer, summary, body string, makes bool, do func(c *call) (any, error)) endpoint {
		return endpoint{path: path, put: &operation{summary: summary, answer: answer, body: body, makes: makes, note: !strings.HasSuffix(path, "/placed"), do: do}}
	}
	return []endpoint{
		{path: "/packing", get: &operation{summary: "What there is to pack and what is packed.", answer: "pack", do: func(c *call) (any, error) {
			if err := c.query().err(); err != nil {
				return nil, err
			}
			return s.shop.PackingDay(c.Context())
		}}},
		write("/packing/notes/{day}/read", "pack", "Says that a note of the day is read and put right: what was tapped while nobody heard and could not be written.", "take-back", false, s.putNoteRead),
		{path: "/pack-window", get: &operation{summary: "What the scale may show of a bag, and why.", answer: "pack-window", do: s.getPackWindow, params: []param{product,
			{name: "tare", help: "Of an empty bag; left out: the scale is set to nothing with the bag on it.", example: "5g"}, {name: "scale", help: "Which scale; left out: the one that is taken for this weight.", example: "counter"}}}},
		{path: "/when", get: &operation{summary: "When somebody can have so many bags, and what that rests on.", answer: "when", do: s.getWhen, params: []param{product,
			{name: "bags", help: "How many.", example: "40", must: true}}}},
		{path: "/bag-lots", get: &operation{summary: "Bag lots, the newest first.", answer: "bag-lots", do: s.getBagLots, params: []param{
			{name: "product", help: "Those of one product.", example: "rhubarb-fish-113"}, {name: "from", help: "Packed on this day or later.", example: "2026-11-01"}, {name: "to", help: "Packed on this day or earlier.", example: "2026-11-28"},
			{name: "live", help: "yes: those of which bags are left.", example: "yes"}, limitParam(), {name: "before", help: "The lot to go on after.", example: "b2026-11-28-2"}}}},
		{path: "/bag-lots/{lot}", get: &operation{summary: "One bag lot: its batches, what became of it.", answer: "bag-lot", do: s.getBagLot}},
		write("/bag-lots/{lot}/packed", "bag-lot", "Packs bags under a number that is free, adds to a lot, or puts right how many they were.", "write-packed", true, s.putPacked),
		write("/bag-lots/{lot}/moved", "bag-lot", "Takes bags out: over the counter, for an order, into a jar.", "write-moved", false, s.putMoved),
		write("/bag-lots/{lot}/counted", "bag-lot", "Writes down what a count found; what is missing stands as unaccounted.", "write-bags-counted", false, s.putBagCount),
		write("/bag-lots/{lot}/hold", "bag-lot", "Freezes a bag lot at once. One that is on hold stays so.", "write-hold", false, s.putPackedHold),
		write("/bag-lots/{lot}/placed", "bag-lot", "Releases a bag lot, or condemns it.", "write-placed", false, s.putPackedPlaced),
		write("/bag-lots/{lot}/taken-back", "bag-lot", "Takes an entry back.", "take-back", false, s.putPackedBack),
		{path: "/jars/{jar}", get: &operation{summary: "One jar: the batches of which something may be in it.", answer: "jar", do: s.getJar}},
		write("/jars/{jar}/filled", "jar", "Puts loose sweets into a jar.", "write-filled", false, s.putFilled),
		write("/jars/{jar}/taken", "jar", "Takes something of a jar.", "write-taken", false, s.putTaken),
		write("/jars/{jar}/left", "jar", "Writes down what the scale found left in it.", "write-left", false, s.putLeft),
		write("/jars/{jar}/emptied", "jar", "Says that it is empty: what no entry says was sold over the counter.", "write-day", false, s.putEmptied),
		write("/jars/{jar}/washed", "jar", "Says that it is washed: what goes in then is by itself.", "write-day", false, s.putWashed),
		write("/jars/{jar}/hold", "jar", "Freezes a jar at once. One that is on hold stays so.", "write-hold", false, s.putPackedHold),
		write("/jars/{jar}/placed", "jar", "Releases a jar, or condemns it.", "write-placed", false, s.putPackedPlaced),
		write("/jars/{jar}/taken-back", "jar", "Takes an entry back.", "take-back", false, s.putPackedBack),
		{path: "/loose/{batch}", get: &operation{summary: "What became of the sound pieces of a batch, and where they are.", answer: "batch-left", do: s.getLoose}},
		write("/loose/{batch}/taken", "batch-left", "Takes something of the loose sweets of a batch without a bag.", "write-taken", false, s.putTaken),
		write("/loose/{batch}/left", "batch-left", "Writes down what the scale found left of them.", "write-left", false, s.putLeft),
		write("/loose/{batch}/taken-back", "batch-left", "Takes an entry back.", "take-back", false, s.putPackedBack),
	}
}

func (s *server) putNoteRead(c *call) (any, error) {
	var in APITakeBack
	if err := c.read(&in); err != nil {
		return nil, err
	}
	id := packing.NotesID(c.PathValue("day"))
	err := c.query().err()
	if err == nil && !packing.IsNotes(id) {
		err = fault.Invalid("%q is no day", fault.Clip(c.PathValue("day"), fault.Echo)).At("day").WithHint("as 2026-11-28")
	}
	if err != nil {
		return nil, err
	}
	if err := s.shop.WritePacking(c.Context(), packing.Entry{Ledger: id}, in.Corrects, s.who(c.Request), strings.TrimSpace(in.Why)); err != nil {
		return nil, sentPacking(err)
	}
	return s.shop.PackingDay(c.Context())
}

func (s *server) getPackWindow(c *call) (any, error) {
	a := c.query()
	product, scale := a.text("product"), a.text("scale")
	tare := given(amount[q.Kilograms](a, "tare"), 0)
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.PackWindow(c.Context(), product, tare, scale)
}

func (s *server) getWhen(c *call) (any, error) {
	a := c.query()
	product, bags := a.text("product"), given(whole(a, "bags"), 0)
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.When(c.Context(), product, bags)
}

func (s *server) getBagLots(c *call) (any, error) {
	a := c.query()
	req := app.BagQuery{Product: a.text("product"), From: a.text("from"), To: a.text("to"), Live: given(one(a, "live", parseYes), false), Before: a.text("before"), Limit: a.limit()}
	if err := a.err(); err != nil {
		return nil, err
	}
	return s.shop.BagLots(c.Context(), req)
}

func (s *server) getBagLot(c *call) (any, error) { return s.ledgerOf(c) }
func (s *server) getJar(c *call) (any, error)    { return s.ledgerOf(c) }
func (s *server) getLoose(c *call) (any, error)  { return s.ledgerOf(c) }

// ledgerID is the ledger that an address names.
func ledgerID(c *call) (string, error) {
	lot, jar, batch := c.PathValue("lot"), c.PathValue("jar"), c.PathValue("batch")
	switch {
	case lot != "":
		return lot, packing.CheckLot(lot)
	case jar != "":
		return jar, packing.CheckJar(jar)
	}
	if id := packing.LooseID(batch); packing.IsLoose(id) {
		return id, nil
	}
	return "", fault.Invalid("%q is no number of a batch", fault.Clip(batch, fault.Echo)).At("batch").WithHint("it is a day and a number, as 2026-11-28-2")
}

// ledgerOf answers with the ledger of the address.
func (s *server) ledgerOf(c *call) (any, error) {
	id, err := ledgerID(c)
	if err == nil {
		err = c.query().err()
	}
	switch {
	case err != nil:
		return nil, err
	case packing.IsBags(id):
		return s.shop.BagLot(c.Context(), id)
	case packing.IsJar(id):
		return s.shop.Jar(c.Context(), id)
	}
	return s.shop.BatchLeft(c.Context(), id[1:])
}

// putLedger writes an entry to the ledger of the address, and answers with it.
func (s *server) putLedger(c *call, e packing.Entry, corrects int64, why string) (any, error) {
	id, err := ledgerID(c)
	if err == nil {
		err = c.query().err()
	}
	if err != nil {
		return nil, err
	}
	e.Ledger = id
	if err := s.shop.WritePacking(c.Context(), e, corrects, s.who(c.Request), strings.TrimSpace(why)); err != nil {
		return nil, sentPacking(err)
	}
	return s.ledgerOf(c)
}

func (s *server) putPacked(c *call) (any, error) {
	var in APIPack
	if err := c.read(&in); err != nil {
		return nil, err
	}
	id, err := ledgerID(c)
	if err == nil {
		err = c.query().err()
	}
	if err != nil {
		return nil, err
	}
	req := app.PackRequest{Lot: id, New: in.New, Product: in.Product, Batches: in.Batches, Bags: in.Bags, Tare: kilogramsOf(in.TareMg), Scale: in.Scale, BestBefore: in.BestBefore, Mass: kilogramsOf(in.MassMg), Packaging: in.Packaging, Corrects: in.Corrects}
	why := strings.TrimSpace(in.Why)
	if in.Corrects == 0 {
		req.Why, why = why, ""
	}
	for _, mg := range in.WeighedMg {
		req.Weighed = append(req.Weighed, kilogramsOf(mg))
	}
	if _, err := s.shop.Pack(c.Context(), req, s.who(c.Request), why); err != nil {
		return nil, sentPacking(err)
	}
	if in.New {
		c.status = http.StatusCreated
	}
	return s.ledgerOf(c)
}

func (s *server) putMoved(c *call) (any, error) {
	var in APIMove
	if err := c.read(&in); err != nil {
		return nil, err
	}
	if in.To != packing.ToJar || in.Corrects != 0 {
		return s.putLedger(c, packing.Entry{Moved: &in.Moved}, in.Corrects, in.Why)
	}
	id, err := ledgerID(c)
	if err == nil {
		err = c.query().err()
	}
	if err == nil {
		err = packing.CheckJar(in.Jar)
	}
	if err != nil {
		return nil, err
	}
	if err := s.shop.OpenBags(c.Context(), id, in.Bags, in.Jar, s.who(c.Request), strings.TrimSpace(in.Why)); err != nil {
		return nil, sentPacking(err)
	}
	return s.ledgerOf(c)
}

func (s *server) putBagCount(c *call) (any, error) {
	var in APIBagCount
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLedger(c, packing.Entry{Counted: &in.Counted}, in.Corrects, in.Why)
}

func (s *server) putPackedHold(c *call) (any, error) {
	var in APIHold
	if err := c.read(&in); err != nil {
		return nil, err
	}
	id, err := ledgerID(c)
	if err == nil {
		err = c.query().err()
	}
	if err != nil {
		return nil, err
	}
	if err := s.shop.HoldPacked(c.Context(), id, strings.TrimSpace(in.Why), s.who(c.Request)); err != nil {
		return nil, sentPacking(err)
	}
	return s.ledgerOf(c)
}

func (s *server) putPackedPlaced(c *call) (any, error) {
	var in APIPlace
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLedger(c, packing.Entry{Placed: &packing.Placed{As: packing.Status(in.As), Why: in.Placed.Why}}, 0, "")
}

func (s *server) putPackedBack(c *call) (any, error) {
	var in APITakeBack
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLedger(c, packing.Entry{}, in.Corrects, in.Why)
}

func (s *server) putFilled(c *call) (any, error) {
	var in APIFill
	if err := c.read(&in); err != nil {
		return nil, err
	}
	id, err := ledgerID(c)
	if err == nil {
		err = c.query().err()
	}
	if err != nil {
		return nil, err
	}
	if err := s.shop.FillJar(c.Context(), app.FillRequest{Jar: id, Batch: in.Batch, Mass: kilogramsOf(in.MassMg), Why: strings.TrimSpace(in.Why)}, s.who(c.Request), ""); err != nil {
		return nil, sentPacking(err)
	}
	return s.ledgerOf(c)
}

func (s *server) putTaken(c *call) (any, error) {
	var in APITake
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLedger(c, packing.Entry{Taken: &in.Taken}, in.Corrects, in.Why)
}

func (s *server) putLeft(c *call) (any, error) {
	var in APILeft
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLedger(c, packing.Entry{Left: &in.Left}, in.Corrects, in.Why)
}

func (s *server) putEmptied(c *call) (any, error) {
	var in APIDay
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLedger(c, packing.Entry{Emptied: &packing.Emptied{On: in.On}}, 0, in.Why)
}

func (s *server) putWashed(c *call) (any, error) {
	var in APIDay
	if err := c.read(&in); err != nil {
		return nil, err
	}
	return s.putLedger(c, packing.Entry{Washed: &packing.Washed{On: in.On}}, 0, in.Why)
}

// sentPacking names the field of what was sent instead of that of the entry it fills.
func sentPacking(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) {
		return err
	}
	kind, field, _ := strings.Cut(f.Field, ".")
	switch kind {
	case packing.Packing, packing.Moving, packing.Counting, packing.Placing, packing.Filling, packing.Taking, packing.Leaving, packing.Emptying, packing.Washing:
		if field == "opened" {
			field = "packaging"
		}
		if field == "of" {
			field = "batches"
			if kind == packing.Filling {
				field = "batch"
			}
		}
		return f.At(field)
	case "corrects":
		return f.At("corrects_act")
	}
	return err
}
