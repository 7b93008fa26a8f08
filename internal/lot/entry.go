package lot

import (
	"regexp"
	"strings"
	"time"

	"slabside/internal/fault"
)

// Kind says what an entry writes down.
type Kind string

// The kinds, in the order of a lot's life.
const (
	Receiving Kind = "received" // it came in
	Placing   Kind = "placed"   // it may be used, or not
	Using     Kind = "used"     // something of it went into a batch or elsewhere
	Wasting   Kind = "wasted"   // something of it was thrown away or sent back
	Counting  Kind = "counted"  // what a count found
	Taking    Kind = "taken back"
)

// Kinds lists the kinds that write something down.
func Kinds() []Kind { return []Kind{Receiving, Placing, Using, Wasting, Counting} }

// Entry is one thing written down of one lot. One of its parts is there; with none it
// takes back the entry that it corrects.
type Entry struct {
	Lot      string    `json:"lot"`
	Received *Received `json:"received,omitempty"`
	Placed   *Placed   `json:"placed,omitempty"`
	Used     *Used     `json:"used,omitempty"`
	Wasted   *Wasted   `json:"wasted,omitempty"`
	Counted  *Counted  `json:"counted,omitempty"`
}

// Received opens the ledger of a lot.
type Received struct {
	On          string `json:"on"`         // day it came
	Ingredient  string `json:"ingredient"` // id
	Supplier    string `json:"supplier"`
	SupplierLot string `json:"supplier_lot,omitempty"` // the mark on the sack; empty: it has none
	BestBefore  string `json:"best_before,omitempty"`  // day; empty: it has none
	MassMg      int64  `json:"mass_mg"`
	// StatementOn is the date of the supplier's statement of what the lot may contain,
	// which is complete then; empty: none came with it, which is not none.
	StatementOn string   `json:"statement_on,omitempty"`
	MayContain  []string `json:"may_contain,omitempty"`
	Certificate string   `json:"certificate,omitempty"` // what paper came with it
	Note        string   `json:"note,omitempty"`
	Waits       string   `json:"waits,omitempty"` // why it waits in quarantine; empty: it may be used at once
	Made        *Made    `json:"made,omitempty"`  // in the house, out of other lots; null: it came from outside
}

// Status says what may be done with a lot.
type Status string

// The statuses.
const (
	Usable     Status = "usable"
	Quarantine Status = "quarantine" // waits for a paper or a look; nothing is taken of it
	Hold       Status = "hold"       // frozen: nothing is taken of it, nor thrown away
	Condemned  Status = "condemned"  // may be thrown away or sent back, never used
)

// Statuses lists the statuses.
func Statuses() []Status { return []Status{Usable, Quarantine, Hold, Condemned} }

// Placed says from now on what may be done with the lot.
type Placed struct {
	As  Status `json:"as"`
	Why string `json:"why,omitempty"` // a hold may come first and its reason after
}

// Used is what went out of the lot to be made something of.
type Used struct {
	MassMg int64  `json:"mass_mg"`
	Batch  string `json:"batch,omitempty"` // its number; empty: not a batch
	For    string `json:"for,omitempty"`   // what else
	Into   string `json:"into,omitempty"`  // lot that was made of it in the same act; empty: none
}

// Wasted is what was thrown away or sent back.
type Wasted struct {
	MassMg int64  `json:"mass_mg"`
	Why    string `json:"why"`
}

// Counted is what a count found of the lot.
type Counted struct {
	FoundMg int64 `json:"found_mg"`
	SureMg  int64 `json:"sure_mg,omitempty"` // ± of how it was counted; 0: not said
}

// Kept is an entry as it is kept: the act that wrote it, who, when and why.
type Kept struct {
	Entry
	Act      int64     `json:"act"`
	At       time.Time `json:"at"`
	TakenIn  time.Time `json:"taken_in"` // by the program
	Person   string    `json:"person"`
	Reason   string    `json:"reason,omitempty"`
	Corrects int64     `json:"corrects_act,omitempty"`
	Weighed  bool      `json:"weighed,omitempty"` // into a batch, whose record says the same
}

// Kind returns what the entry writes down.
func (e Entry) Kind() Kind {
	switch {
	case e.Received != nil:
		return Receiving
	case e.Placed != nil:
		return Placing
	case e.Used != nil:
		return Using
	case e.Wasted != nil:
		return Wasting
	case e.Counted != nil:
		return Counting
	}
	return Taking
}

func (e Entry) parts() int {
	n := 0
	for _, there := range []bool{e.Received != nil, e.Placed != nil, e.Used != nil, e.Wasted != nil, e.Counted != nil} {
		if there {
			n++
		}
	}
	return n
}

// lotID is an r, the day of receipt and a number: "r2026-11-28-2".
var lotID = regexp.MustCompile(`^r[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9]{1,3}$`)

// CheckID refuses what is no number of a lot.
func CheckID(id string) error {
	if !lotID.MatchString(id) {
		return fault.Invalid("%q is no number of a lot", fault.Clip(id, fault.Echo)).At("lot").WithHint("it is an r, a day and a number, as r2026-11-28-2")
	}
	return nil
}

// MostMg is the largest lot that is meant [mg]: a hundred tonnes. A thousand of them
// still add up within 64 bits.
const MostMg = int64(100e9)

// Check refuses what cannot be meant, naming the part and its field.
func (e Entry) Check() error {
	if err := CheckID(e.Lot); err != nil {
		return err
	}
	if e.parts() > 1 {
		return fault.Invalid("an entry writes down one thing")
	}
	switch {
	case e.Received != nil:
		return e.Received.check(e.Lot)
	case e.Placed != nil:
		return e.Placed.check()
	case e.Used != nil:
		if err := taken("used", e.Used.MassMg); err != nil {
			return err
		}
		if e.Used.Into != "" && (CheckID(e.Used.Into) != nil || e.Used.Batch != "" || e.Used.For != "") {
			return fault.Invalid("what went into a lot went nowhere else").At("used.into")
		}
		return fault.Texts("used", e.Used.Batch, e.Used.For)
	case e.Wasted != nil:
		if strings.TrimSpace(e.Wasted.Why) == "" {
			return fault.Invalid("it is not said why it was thrown away").At("wasted.why").WithHint("spilt, damp, past its date, sent back")
		}
		if err := taken("wasted", e.Wasted.MassMg); err != nil {
			return err
		}
		return fault.Texts("wasted", e.Wasted.Why)
	case e.Counted != nil:
		return e.Counted.check()
	}
	return nil
}

func (r Received) check(id string) error {
	switch {
	case !isDate(r.On):
		return noDate("on", r.On)
	case !strings.HasPrefix(id, "r"+r.On+"-"):
		return fault.Invalid("lot %s was received on another day than %s", id, r.On).At("received.on").WithHint("its number begins with the day it came")
	case r.Ingredient == "":
		return fault.Invalid("it is not said what came").At("received.ingredient").WithHint("name an ingredient of the shop book")
	case strings.TrimSpace(r.Supplier) == "":
		return fault.Invalid("it is not said who delivered it").At("received.supplier").WithHint("the name on the delivery note")
	case r.MassMg <= 0 || r.MassMg > MostMg:
		return fault.Invalid("a delivery of %g kg cannot be meant", float64(r.MassMg)/1e6).At("received.mass_mg")
	case r.BestBefore != "" && !isDate(r.BestBefore):
		return noDate("best_before", r.BestBefore)
	case r.StatementOn != "" && !isDate(r.StatementOn):
		return noDate("statement_on", r.StatementOn)
	case len(r.MayContain) > 0 && r.StatementOn == "" && r.Made == nil: // of what is made, one part may have a statement and another none
		return fault.Invalid("what it may contain is said by a statement without a date").At("received.statement_on").WithHint("the date on the supplier's paper")
	}
	if r.Made != nil {
		if err := r.Made.check(id, r); err != nil {
			return err
		}
	}
	texts := append([]string{r.Ingredient, r.Supplier, r.SupplierLot, r.Certificate, r.Note, r.Waits}, r.MayContain...)
	return fault.Texts("received", texts...)
}

func (p Placed) check() error {
	switch p.As {
	case Hold:
	case Usable, Quarantine, Condemned:
		if strings.TrimSpace(p.Why) == "" {
			return fault.Invalid("it is not said why").At("placed.why").WithHint("what was looked at, and what was found")
		}
	default:
		return fault.Invalid("%q is no place for a lot", fault.Clip(string(p.As), fault.Echo)).At("placed.as").WithHint("usable, quarantine, hold or condemned")
	}
	return fault.Texts("placed", p.Why)
}

func (c Counted) check() error {
	switch {
	case c.FoundMg < 0 || c.FoundMg > MostMg:
		return fault.Invalid("a count does not find %g kg", float64(c.FoundMg)/1e6).At("counted.found_mg")
	case c.SureMg < 0 || c.SureMg > MostMg:
		return fault.Invalid("a count is not sure to %g kg", float64(c.SureMg)/1e6).At("counted.sure_mg")
	}
	return nil
}

// taken refuses a mass that cannot have been taken of a lot.
func taken(part string, mg int64) error {
	if mg <= 0 || mg > MostMg {
		return fault.Invalid("%g kg cannot have been taken", float64(mg)/1e6).At(part + ".mass_mg").WithHint("write more than zero")
	}
	return nil
}

func isDate(text string) bool {
	on, err := time.Parse(time.DateOnly, text)
	return err == nil && on.Year() >= 1900
}

func noDate(field, text string) error {
	return fault.Invalid("%q is no date", fault.Clip(text, fault.Echo)).At("received." + field).WithHint("write it as 2026-11-28")
}
