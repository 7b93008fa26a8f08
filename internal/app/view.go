package app

import (
	"fmt"
	"strings"
	"time"

	"slabside/internal/batch"
	q "slabside/internal/quantity"
)

// Caution is a fixed sentence about a danger, shown where it matters.
type Caution struct {
	Code string `json:"code"`
	Text string `json:"text"`
	At   string `json:"at,omitempty"` // where on a sheet it belongs: weigh, flame, hold, end, pour, slab, rolls, pack; day: to the whole day
}

// DayPlan is a making day from bags to the minute. JSON is the contract of the
// plan command; pages and prints are made from the same value.
type DayPlan struct {
	Date       string     `json:"date"` // ISO date in the shop's zone
	Shop       string     `json:"shop"`
	Place      string     `json:"place"`
	Units      q.Reader   `json:"units"`
	Opens      time.Time  `json:"opens"`
	Ends       time.Time  `json:"ends"`     // the day's end
	WorkEnd    time.Time  `json:"work_end"` // when the last bag is packed
	Closed     time.Time  `json:"closed"`   // after the clean-down
	AltitudeM  q.Number   `json:"altitude_m"`
	PressurePa q.Estimate `json:"pressure_pa"` // station pressure used
	Glass      string     `json:"glass"`       // name of the glass that is read
	Kettle     string     `json:"kettle"`      // names of those boiled in, else of the day's

	Batches     []Batch      `json:"batches"`
	Changeovers []Changeover `json:"changeovers"`
	Breaks      []BreakTime  `json:"breaks"`
	Pours       []PourKept   `json:"announced_pours"`
	Duties      []Duty       `json:"duties"`
	Clock       []Moment     `json:"clock"` // the day's main clock, in order
	Rows        []Row        `json:"rows"`  // the timetable, a row a resource

	Bags     []BagsMade `json:"bags"`
	LeftOver []LeftOver `json:"left_over"`
	Unplaced []Unplaced `json:"unplaced"`
	Offers   []string   `json:"offers"` // what would make the rest fit, or leave less over; plain words

	Objectives   []Objective `json:"objectives"`
	ProvedBest   bool        `json:"proved_best"`
	StoppedEarly bool        `json:"stopped_early"`
	StoppedBy    string      `json:"stopped_by,omitempty"` // what stopped it: clock, budget
	States       int         `json:"states"`               // states the search looked at

	Cautions []Caution `json:"cautions"`
	Sources  []string  `json:"sources"`

	// Book is the state of the book the day was planned by, for paper; a file has none.
	Book *BookMark `json:"-"`

	// Compared is the kept day beside this one; only a trial has it.
	Compared *Compared `json:"compared,omitempty"`

	made *making // how it came about, for what is asked of it afterwards
}

// What stops a search early.
const (
	ByClock  = "clock"  // it took too long; another time it may go further
	ByBudget = "budget" // it looked at as many states as it may; it ends there every time
)

// Batch is one boil of the plan with its sheet.
type Batch struct {
	ID        string     `json:"id"` // "2026-11-28-3": date and place in the day
	N         int        `json:"n"`  // place in the day, from 1
	Recipe    string     `json:"recipe"`
	Name      string     `json:"name"`
	Size      string     `json:"size"` // whole, half, third, odd
	ChargeKg  q.Number   `json:"charge_kg"`
	WeighBy   time.Time  `json:"weigh_by"` // weighed in by then
	ChargeAt  time.Time  `json:"charge_at"`
	FlameUp   time.Time  `json:"flame_up"`
	Hold      time.Time  `json:"hold"` // from here up it is watched
	Pour      time.Time  `json:"pour"`
	PourEnd   time.Time  `json:"pour_end"`
	RollStart time.Time  `json:"roll_start"`
	RollEnd   time.Time  `json:"roll_end"`
	Cool      time.Time  `json:"cool"` // sheets can be broken
	Done      time.Time  `json:"done"` // its last bag packed
	RollsName string     `json:"rolls_name"`
	Shape     string     `json:"shape"`    // rolled early, middle, late in the rolling time
	Lead      string     `json:"lead"`     // who is named with the lit flame
	WhyHere   []string   `json:"why_here"` // why at this place and this minute, plain words
	Pieces    q.Estimate `json:"pieces"`   // sound pieces, all portions
	Portions  []Portion  `json:"portions"`
	Sheet     Sheet      `json:"sheet"`
	Cautions  []Caution  `json:"cautions"`

	hot  *batch.Hot // nil: it is not followed on the slab
	acid bool       // powdered acid is folded in
}

// Portion is what one portion of a batch comes to.
type Portion struct {
	ID      string     `json:"id"`
	Colour  string     `json:"colour"`
	Paint   string     `json:"paint"`
	Work    string     `json:"work"`
	MassKg  q.Number   `json:"mass_kg"`  // cut from the slab
	SoundKg q.Estimate `json:"sound_kg"` // pieces after the sieve
	Pieces  q.Estimate `json:"pieces"`
	PieceG  q.Estimate `json:"piece_g"`
}

// Sheet is what a batch sheet needs beside the times.
type Sheet struct {
	Weigh       []WeighLine     `json:"weigh"`
	DialC       q.Estimate      `json:"dial_c"`   // read on this glass
	MarkC       q.Number        `json:"mark_c"`   // the division of the glass nearest to it: what to look for
	Read        string          `json:"read"`     // the same, in the shop's units
	BoilC       q.Estimate      `json:"boil_c"`   // true temperature here
	RecipeC     q.Number        `json:"recipe_c"` // true temperature at 1013.25 hPa, 0 if the recipe asks for a dryness
	WaterFrac   q.Estimate      `json:"water_frac"`
	LiftKg      q.Estimate      `json:"lift_kg"` // in the kettle at the lift
	WaterOffKg  q.Estimate      `json:"water_off_kg"`
	FinishedKg  q.Estimate      `json:"finished_kg"` // on the slab, additions in
	GlassC      *q.Estimate     `json:"glass_c"`     // stands up to; nil outside its model
	BoilTimeS   q.Estimate      `json:"boil_time_s"`
	EnergyKWh   q.Estimate      `json:"energy_kwh"`
	RollMin     q.Number        `json:"roll_min"`
	RollBandMin q.Number        `json:"roll_band_min"`
	Kettle      string          `json:"kettle"`
	Metal       string          `json:"metal"`     // what the sugar touches in the kettle
	Allergens   []string        `json:"allergens"` // contained
	MayContain  []MayContain    `json:"may_contain"`
	Unstated    []string        `json:"unstated"` // ingredients whose supplier has not said
	Stock       []StockSolution `json:"stock_solutions"`
}

// MayContain is an allergen that a supplier says an ingredient may contain, of
// those that the sweet does not contain anyway.
type MayContain struct {
	Allergen   string `json:"allergen"`
	Ingredient string `json:"ingredient"`          // its name
	StatedOn   string `json:"stated_on,omitempty"` // ISO date of the supplier's statement, left out if not recorded
}

// String says it for people, with whose statement it is.
func (m MayContain) String() string {
	of := ", undated"
	if t, err := time.Parse(time.DateOnly, m.StatedOn); err == nil {
		of = " of " + t.Format("2 January 2006")
	}
	return fmt.Sprintf("%s (%s, supplier's statement%s)", m.Allergen, m.Ingredient, of)
}

// MayContainText joins such statements for a sheet, "" if there are none.
func (s Sheet) MayContainText() string {
	words := make([]string, len(s.MayContain))
	for i, m := range s.MayContain {
		words[i] = m.String()
	}
	return strings.Join(words, ", ")
}

// WeighLine is one line to weigh.
type WeighLine struct {
	Stage      string     `json:"stage"` // kettle, boil, end, pour, fold, finish
	Ingredient string     `json:"ingredient"`
	Name       string     `json:"name"`
	Portion    string     `json:"portion,omitempty"`
	MassKg     q.Estimate `json:"mass_kg"`
	Show       string     `json:"show"` // in the shop's units, to the scale's resolution
	Scale      string     `json:"scale"`
	Fine       bool       `json:"fine"`           // the scale resolves it
	Lots       []string   `json:"lots,omitempty"` // on hand, first to expire first
	Allergens  []string   `json:"allergens,omitempty"`
}

// StockSolution is a proposal for a dose no scale here resolves.
type StockSolution struct {
	Ingredient string `json:"ingredient"`
	Text       string `json:"text"` // how to make and dose it
}

// Changeover is what is done to line, kettle and rolls between two boils.
type Changeover struct {
	From    string   `json:"from"` // batch id, "" for the opening
	To      string   `json:"to"`
	Acts    []string `json:"acts"`    // those of the set-ups
	Minutes int      `json:"minutes"` // of all of them
	Why     string   `json:"why"`     // "wash the slab, 20 min: malt carries over and damson is easily tainted"
	SetUps  []SetUp  `json:"set_ups"` // in order
}

// SetUp is one thing done between two boils.
type SetUp struct {
	Act     string    `json:"act"`    // wipe, wash, allergen clean, allergen clean of the kettle, allergen clean of rolls, clean rolls, change rolls, clean and change rolls
	Verify  bool      `json:"verify"` // an allergen clean: it counts only when a named person has verified it
	Minutes int       `json:"minutes"`
	Begin   time.Time `json:"begin"`
	End     time.Time `json:"end"`
	Why     string    `json:"why"`
	Hand    string    `json:"hand"`
}

// Before returns what is cleaned and changed before a batch, in order.
func (d *DayPlan) Before(batch string) []SetUp {
	for _, c := range d.Changeovers {
		if c.To == batch {
			return c.SetUps
		}
	}
	return nil
}

// BreakTime is a break of the whole room.
type BreakTime struct {
	Name string    `json:"name"`
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// PourKept is an announced pour and the batch that keeps it.
type PourKept struct {
	Name  string    `json:"name"`
	At    time.Time `json:"at"`
	Early q.Number  `json:"early_min"`
	Late  q.Number  `json:"late_min"`
	Batch string    `json:"batch"` // "" when missed
	Why   string    `json:"why,omitempty"`
}

// Duty is what one person does for a stretch.
type Duty struct {
	Hand  string    `json:"hand"`
	What  string    `json:"what"`
	Batch string    `json:"batch,omitempty"`
	From  time.Time `json:"from"`
	To    time.Time `json:"to"`
}

// Moment is an entry of the main clock.
type Moment struct {
	At    time.Time `json:"at"`
	Kind  string    `json:"kind"` // flame_up, hold, pour, roll, changeover, break, announced, packed, closed
	Text  string    `json:"text"`
	Batch string    `json:"batch,omitempty"`
}

// Row is one resource of the timetable.
type Row struct {
	Name string `json:"name"` // "Kettle", "Slab", "Hook", "Rolls", "Bench", or a hand's name
	Kind string `json:"kind"` // kettle, slab, hook, rolls, bench, hand
	Bars []Bar  `json:"bars"`
}

// Bar is a stretch on a row.
type Bar struct {
	From  time.Time `json:"from"`
	To    time.Time `json:"to"`
	Stage string    `json:"stage"` // charge, boil, watch, pour, turn, pull, tend, roll, rinse, hold_slab, wipe, wash, allergen, change, cool, weigh, after, break
	Batch string    `json:"batch,omitempty"`
	N     int       `json:"n,omitempty"`
	Text  string    `json:"text"`
	Hot   bool      `json:"hot"` // part of the hot run, in which nothing waits
}

// BagsMade is what a line to make comes to.
type BagsMade struct {
	Product   string     `json:"product"`
	Name      string     `json:"name"`
	Must      bool       `json:"must"`
	For       string     `json:"for,omitempty"`
	Due       string     `json:"due,omitempty"`
	Asked     int        `json:"asked"`
	FromStock int        `json:"from_stock"`
	Made      q.Estimate `json:"made"`    // bags this day's boils and the loose stock fill for this line, at most asked
	Chance    q.Number   `json:"chance"`  // that the line is whole
	Planned   bool       `json:"planned"` // the boils for it are in the day
	Mix       []MixPart  `json:"mix,omitempty"`
}

// MixPart is one sweet of a mixture as it turns up in a bag.
type MixPart struct {
	Recipe  string   `json:"recipe"`
	Portion string   `json:"portion,omitempty"`
	Name    string   `json:"name"`
	Mean    q.Number `json:"mean"`
	P05     int      `json:"p05"`
	P95     int      `json:"p95"`
	Least   int      `json:"least,omitempty"`
	PLeast  q.Number `json:"p_least"` // chance that a bag holds at least Least
}

// LeftOver is what remains of a recipe's portion when the lines are filled.
type LeftOver struct {
	Recipe  string     `json:"recipe"`
	Portion string     `json:"portion"`
	Name    string     `json:"name"`
	Kg      q.Estimate `json:"kg"`
	Pieces  q.Estimate `json:"pieces"`
	Bags    string     `json:"bags,omitempty"` // what it would fill
}

// Unplaced is a boil that is not in the day.
type Unplaced struct {
	Recipe   string   `json:"recipe"`
	Name     string   `json:"name"`
	ChargeKg q.Number `json:"charge_kg"`
	Why      string   `json:"why"`
	Lines    []string `json:"lines"` // lines short without it
}

// Objective is one level of the plan's lexicographic objective.
type Objective struct {
	Name  string   `json:"name"`
	Value q.Number `json:"value"`
	Bound q.Number `json:"bound"`
}
