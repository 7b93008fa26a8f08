package cli

import q "slabside/internal/quantity"

// workFlags are what is written down of the work around a boil, as [app.WorkAsked] has it.
type workFlags struct {
	Check    []string `help:"Before the flame: machine, guards, stop, rolls, glass, hood, co-alarm, water, allergen-clean; each yes, no or does-not-apply." placeholder:"CHECK=ANSWER,…" eg:"machine=yes,guards=yes,stop=yes"`
	Verified string   `help:"Who verified the allergen clean, or what was cleaned: a second person." placeholder:"NAME" eg:"Bram"`

	CookedBack *q.Kilograms `help:"Scraps of another batch that went into the kettle." placeholder:"MASS" eg:"400g"`
	From       string       `help:"The batch they are of." placeholder:"BATCH" eg:"2026-11-27-1"`

	LitAt      string `help:"The lift: when the flame was lit." placeholder:"HH:MM" eg:"09:42"`
	LiftedAt   string `help:"The lift: when the kettle left the fire." placeholder:"HH:MM" eg:"10:07"`
	PouredAt   string `help:"What came of it: when it was poured." placeholder:"HH:MM" eg:"10:09"`
	EdgeAt     string `help:"When its edge lifted clean." placeholder:"HH:MM" eg:"10:12"`
	RolledFrom string `help:"When the first sheet was rolled." placeholder:"HH:MM" eg:"10:21"`
	RolledTo   string `help:"When the last sheet was rolled." placeholder:"HH:MM" eg:"10:38"`

	Turns      *int64       `help:"Turns and folds on the slab." placeholder:"N" eg:"24"`
	Sheets     *int64       `help:"Sheets rolled." placeholder:"N" eg:"14"`
	Pieces     *int64       `help:"Sound pieces, counted." placeholder:"N" eg:"2350"`
	Sample     *int64       `help:"Or so many of them, weighed." placeholder:"N" eg:"50"`
	SampleMass *q.Kilograms `help:"What these weigh." placeholder:"MASS" eg:"120g"`
	Sound      *q.Kilograms `help:"Sound pieces, finish included." placeholder:"MASS" eg:"8.4kg"`
	Ends       *q.Kilograms `help:"Ends of the bars, cold remnants." placeholder:"MASS" eg:"420g"`
	Web        *q.Kilograms `help:"Web and spoiled sheets." placeholder:"MASS" eg:"310g"`
	Siftings   *q.Kilograms `help:"Chips and dust from the sieve." placeholder:"MASS" eg:"95g"`
	Left       *q.Kilograms `help:"Stuck on the slab." placeholder:"MASS" eg:"20g"`
	Waste      *q.Kilograms `help:"Thrown away and in none of these, as what fell on the floor." placeholder:"MASS" eg:"60g"`
	CookBack   *q.Kilograms `help:"Of ends, web, siftings and what was left: kept to be cooked back." placeholder:"MASS" eg:"700g"`

	RollsAfter string   `help:"Rolls whole after the last sheet: yes, no or does-not-apply." placeholder:"ANSWER" eg:"yes"`
	GlassAfter string   `help:"Glass and brittle plastic whole after it." placeholder:"ANSWER" eg:"yes"`
	Found      string   `help:"A find: metal, glass, plastic or other." placeholder:"metal|glass|…" eg:"metal"`
	What       string   `help:"What it is." placeholder:"TEXT" eg:"'a chip of bronze, 4 mm'"`
	Where      string   `help:"Where it was." placeholder:"TEXT" eg:"'in the siftings'"`
	Done       string   `help:"What was done about it." placeholder:"TEXT" eg:"'batch held, rolls looked at'"`
	Cleaned    string   `help:"A surface that was cleaned: kettle, slab, hook, machine, rolls, board, bench, sieve, scale, tools." placeholder:"SURFACE" eg:"slab"`
	How        string   `help:"How: wipe, wash or allergen-clean." placeholder:"wipe|wash|…" eg:"wash"`
	CleanedBy  string   `help:"Who cleaned it." placeholder:"NAME" eg:"Odile"`
	Tasted     []string `help:"What is said of the sweets: good, or grained, sticky, dull, cloudy, bubbles, soft, sharp edges, off-flavour, weak flavour, strong flavour, burnt, pale, dark, uneven colour." placeholder:"WORD,…" eg:"grained,dull"`
	TasteNote  string   `help:"And in words of one's own." placeholder:"TEXT" eg:"'of soap, at the end'"`
	Sign       *int64   `help:"Sign the record as it was read, up to its last act." placeholder:"ACT" eg:"21"`
	SignNote   string   `help:"A note of the one who signs." placeholder:"TEXT" eg:"'held until the rolls are looked at'"`
}
