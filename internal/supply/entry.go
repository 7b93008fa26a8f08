package supply

import (
	"regexp"
	"strings"
	"time"

	"slabside/internal/fault"
	"slabside/internal/journal"
	"slabside/internal/lot"
)

// The kinds of entries, in the order of a lot's life.
const (
	Receiving = "received"
	Placing   = "placed"  // it may be used, or not
	Using     = "used"    // something of it was taken, the packing apart
	Wasting   = "wasted"  // thrown away or sent back
	Counting  = "counted" // what a count found
)

// Entry is one thing written down of a lot. One of its parts is there; with none it takes
// back the entry that it corrects.
type Entry struct {
	Lot      string    `json:"lot"` // s2026-11-28-2
	Received *Received `json:"received,omitempty"`
	Placed   *Placed   `json:"placed,omitempty"`
	Used     *Used     `json:"used,omitempty"`
	Wasted   *Wasted   `json:"wasted,omitempty"`
	Counted  *Counted  `json:"counted,omitempty"`
}

// Kept is an entry as it is kept.
type Kept = journal.Kept[Entry]

// Received opens the ledger of a lot. All amounts of a ledger are in its unit: whole
// pieces, or whole milligrams.
type Received struct {
	On          string `json:"on"`     // day it came
	Supply      string `json:"supply"` // id
	Unit        Unit   `json:"unit"`
	Amount      int64  `json:"amount"`
	Supplier    string `json:"supplier"`
	SupplierLot string `json:"supplier_lot,omitempty"` // the mark on the box; empty: it has none
	BestBefore  string `json:"best_before,omitempty"`  // day; empty: it has none
	DeclaredOn  string `json:"declared_on,omitempty"`  // date of the declaration that came with it, that it may touch food; empty: none came
	Certificate string `json:"certificate,omitempty"`  // what paper came with it
	Note        string `json:"note,omitempty"`
	Waits       string `json:"waits,omitempty"` // why it waits in quarantine; empty: it may be used at once
}

// Placed says from now on what may be done with the lot.
type Placed struct {
	As  lot.Status `json:"as"`
	Why string     `json:"why,omitempty"` // a hold may come first and its reason after
}

// Used is what was taken of a lot.
type Used struct {
	Amount int64  `json:"amount"`
	For    string `json:"for,omitempty"`
}

// Wasted is what was thrown away or sent back.
type Wasted struct {
	Amount int64  `json:"amount"`
	Why    string `json:"why"`
}

// Counted is what a count found of the lot.
type Counted struct {
	Found int64 `json:"found"`
	Sure  int64 `json:"sure,omitempty"` // ± of how it was counted; 0: not said
}

// Subject implements [journal.Entry].
func (e Entry) Subject() string { return e.Lot }

// Kind implements [journal.Entry].
func (e Entry) Kind() string {
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
	return journal.Taking
}

// lotID is an s, the day of receipt and a number: "s2026-11-28-2".
var lotID = regexp.MustCompile(`^s[0-9]{4}-[0-9]{2}-[0-9]{2}-[0-9]{1,3}$`)

// IsLot reports whether an id is that of a lot of a supply.
func IsLot(id string) bool { return lotID.MatchString(id) }

// CheckID refuses what is no number of a lot of a supply.
func CheckID(id string) error {
	if !IsLot(id) {
		return fault.Invalid("%q is no number of a lot of packaging, gas or consumables", fault.Clip(id, fault.Echo)).At("lot").WithHint("it is an s, a day and a number, as s2026-11-28-2")
	}
	return nil
}

// Most is the largest delivery that is meant: ten million pieces, or a hundred tonnes in
// milligrams.
func (u Unit) Most() int64 {
	if u == ByMass {
		return lot.MostMg
	}
	return 10_000_000
}

// Check implements [journal.Entry].
func (e Entry) Check() error {
	if err := CheckID(e.Lot); err != nil {
		return err
	}
	n := 0
	for _, there := range []bool{e.Received != nil, e.Placed != nil, e.Used != nil, e.Wasted != nil, e.Counted != nil} {
		if there {
			n++
		}
	}
	switch {
	case n > 1:
		return fault.Invalid("an entry writes down one thing").At("lot")
	case e.Received != nil:
		return e.Received.check(e.Lot)
	case e.Placed != nil:
		return e.Placed.check()
	case e.Used != nil:
		if err := taken("used", e.Used.Amount); err != nil {
			return err
		}
		return fault.Texts("used", e.Used.For)
	case e.Wasted != nil:
		if strings.TrimSpace(e.Wasted.Why) == "" {
			return fault.Invalid("it is not said why it was thrown away").At("wasted.why").WithHint("torn, misprinted, past its date, sent back")
		}
		if err := taken("wasted", e.Wasted.Amount); err != nil {
			return err
		}
		return fault.Texts("wasted", e.Wasted.Why)
	case e.Counted != nil && (e.Counted.Found < 0 || e.Counted.Found > lot.MostMg):
		return fault.Invalid("a count does not find %d", e.Counted.Found).At("counted.found")
	case e.Counted != nil && (e.Counted.Sure < 0 || e.Counted.Sure > lot.MostMg):
		return fault.Invalid("a count is not sure to %d", e.Counted.Sure).At("counted.sure")
	}
	return nil
}

func (r *Received) check(id string) error {
	switch {
	case !isDate(r.On):
		return noDate("on", r.On)
	case !strings.HasPrefix(id, "s"+r.On+"-"):
		return fault.Invalid("lot %s was received on another day than %s", id, r.On).At("received.on").WithHint("its number begins with the day it came")
	case r.Supply == "":
		return fault.Invalid("it is not said what came").At("received.supply").WithHint("name a supply of the shop book")
	case r.Unit != Pieces && r.Unit != ByMass:
		return fault.Invalid("%q is no unit of a supply", fault.Clip(string(r.Unit), fault.Echo)).At("received.unit").WithHint("piece or mass")
	case strings.TrimSpace(r.Supplier) == "":
		return fault.Invalid("it is not said who delivered it").At("received.supplier").WithHint("the name on the delivery note")
	case r.Amount <= 0 || r.Amount > r.Unit.Most():
		return fault.Invalid("such a delivery cannot be meant").At("received.amount").WithHint("write more than zero: whole pieces, or a mass")
	case r.BestBefore != "" && !isDate(r.BestBefore):
		return noDate("best_before", r.BestBefore)
	case r.DeclaredOn != "" && !isDate(r.DeclaredOn):
		return noDate("declared_on", r.DeclaredOn)
	}
	return fault.Texts("received", r.Supply, r.Supplier, r.SupplierLot, r.Certificate, r.Note, r.Waits)
}

func (p *Placed) check() error {
	switch p.As {
	case lot.Hold:
	case lot.Usable, lot.Quarantine, lot.Condemned:
		if strings.TrimSpace(p.Why) == "" {
			return fault.Invalid("it is not said why").At("placed.why").WithHint("what was looked at, and what was found")
		}
	default:
		return fault.Invalid("%q is no place for a lot", fault.Clip(string(p.As), fault.Echo)).At("placed.as").WithHint("usable, quarantine, hold or condemned")
	}
	return fault.Texts("placed", p.Why)
}

// taken refuses an amount that cannot have been taken of a lot.
func taken(part string, n int64) error {
	if n <= 0 || n > lot.MostMg {
		return fault.Invalid("that much cannot have been taken").At(part + ".amount").WithHint("write more than zero")
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
