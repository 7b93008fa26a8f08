package app

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"slabside/internal/day"
	q "slabside/internal/quantity"
)

// lower puts a name into the middle of a sentence.
func lower(s string) string { return strings.ToLower(s) }

// Listed lists words as a sentence does: "a", "a and b", "a, b and c".
func Listed(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// Once keeps the first of equal words, in their order.
func Once(words []string) []string {
	var out []string
	for _, w := range words {
		if !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return out
}

// recipeOf names the recipe of a boil.
func (m *making) recipeOf(boil int) string {
	if boil < 0 || boil >= len(m.lots) {
		return "another boil"
	}
	return lower(m.lots[boil].rec.Name)
}

// leaves says what is on a channel, on the line or in the kettle, and that the
// next sweet cannot have it.
func (m *making) leaves(c day.Cause, where, next string) string {
	if c.Channel < 0 {
		return "what is on the line does not suit " + next
	}
	ch := m.channels[c.Channel]
	switch {
	case ch.grain != "":
		return ch.grain + ", and what it left seeds the next boil"
	case ch.allergen != "":
		return fmt.Sprintf("%s was %s and %s is made without it", ch.allergen, where, next)
	case ch.unstated != "":
		name := ch.unstated
		if in, ok := m.b.Ingredient(ch.unstated); ok {
			name = in.Name
		}
		return fmt.Sprintf("nobody has stated the allergens of %s, and unknown is not none for %s", lower(name), next)
	case ch.stain != "":
		return fmt.Sprintf("%s is still on the line and would show in %s", lower(ch.Name), next)
	}
	how := "is easily tainted"
	if c.Limit > 0 {
		how = fmt.Sprintf("bears only a little of it (level %d, here %d)", c.Limit, c.Level)
	}
	return fmt.Sprintf("%s carries over and %s %s", ch.family, next, how)
}

// actWords says what an act is done to.
func actWords(a day.Act) string {
	switch a {
	case day.Wipe:
		return "wipe slab, hook and scrapers"
	case day.Wash:
		return "wash slab, hook and scrapers"
	case day.AllergenClean:
		return "allergen clean of slab, hook, scrapers, board and machine, verified by name"
	}
	return ""
}

// actFor says what an act is done to before a placed boil: where grain lies, all that it
// touches is washed, and hot.
func (m *making) actFor(a day.Act, causes []day.Cause) string {
	if m.seeded(causes) && a == day.Wash {
		return "hot wet wash of slab, scraper, hook, rolls and kettle rim"
	}
	return actWords(a)
}

// whyAct says why an act is done before a placed boil.
func (m *making) whyAct(p day.Placed, causes []day.Cause) string {
	next := m.recipeOf(p.Boil)
	var why []string
	for _, c := range causes {
		switch c.Kind {
		case day.CauseRule:
			why = append(why, "the shop book asks for it before "+next)
		case day.CauseLater:
			why = append(why, "it leaves the line clean for what follows")
		case day.CauseLevel:
			why = append(why, m.leaves(c, "on the line", next))
		}
	}
	if len(why) == 0 {
		return "it leaves the line clean for what follows"
	}
	// One reason is a sentence; the second adds, the fifth tires.
	return Listed(why[:min(len(why), 3)])
}

// whyKettle says why the kettle is cleaned before a placed boil.
func (m *making) whyKettle(p day.Placed, causes []day.Cause) string {
	var why []string
	for _, c := range causes {
		if c.Kind == day.CauseLevel {
			why = append(why, m.leaves(c, "in it", m.recipeOf(p.Boil)))
		}
	}
	if len(why) == 0 {
		return "it leaves the kettle clean for what follows"
	}
	return Listed(why[:min(len(why), 3)])
}

// changeovers lists what is done on the line, in the kettle and at the rolls
// before each boil, each with its reason.
func (m *making) changeovers(d *DayPlan, duties []day.Duty, reasons []day.Reasons) {
	for i, p := range m.plan.Made {
		b, why := &m.prob.Boils[p.Boil], reasons[i]
		c := Changeover{To: m.batchID(i + 1)}
		if i > 0 {
			c.From = m.batchID(i)
		}
		add := func(act string, verify bool, from, min int, text string, duty ...string) {
			c.SetUps = append(c.SetUps, SetUp{Act: act, Verify: verify, Minutes: min, Begin: m.at(from), End: m.at(from + min), Why: text,
				Hand: m.doneBy(duties, p.Boil, duty...)})
		}
		if p.Act != day.None {
			min, from := m.prob.ActMin[p.Act], p.ActFrom
			if min == 0 {
				from = p.Pour
			}
			add(p.Act.String(), p.Act == day.AllergenClean, from, min, fmt.Sprintf("%s, %d min: %s", m.actFor(p.Act, why.Act), min, m.whyAct(p, why.Act)),
				day.DutyWipe, day.DutyWash, day.DutyAllergen)
		}
		if min := m.prob.KettleMin; p.KettleClean {
			add("allergen clean of the kettle", true, p.Pour-b.Lit-b.Charge-min, min,
				fmt.Sprintf("allergen clean of kettle, glass and paddle, %d min, verified by name before it is charged: %s", min, m.whyKettle(p, why.Kettle)), day.DutyKettle)
		}
		if min := p.RollsMin; min > 0 && why.Rolls != nil {
			pair := lower(m.prob.Pairs[b.Rolls].Name)
			switch {
			case why.Rolls.Kind == day.CauseRollsAct && p.Act == day.AllergenClean:
				add("allergen clean of rolls", true, p.RollsFrom, min, fmt.Sprintf("allergen clean of the rolls, verified by name, %d min: the %s rolls stay on", min, pair), day.DutyRolls)
			case why.Rolls.Kind == day.CauseRollsAct:
				add("clean rolls", false, p.RollsFrom, min, fmt.Sprintf("clean the rolls, %d min: the %s rolls stay on", min, pair), day.DutyRolls)
			case why.Rolls.Kind == day.CauseSoiled:
				add("clean and change rolls", true, p.RollsFrom, min,
					fmt.Sprintf("clean the %s rolls of allergens, verified by name, and change to them, %d min: they came off with an allergen on them", pair, min), day.DutyRolls)
			default:
				add("change rolls", false, p.RollsFrom, min, fmt.Sprintf("change the rolls to %s, %d min: %s runs through them", pair, min, m.recipeOf(p.Boil)), day.DutyRolls)
			}
		}
		if len(c.SetUps) == 0 {
			continue
		}
		slices.SortStableFunc(c.SetUps, func(a, b SetUp) int { return a.Begin.Compare(b.Begin) })
		var reasons []string
		for _, s := range c.SetUps {
			c.Acts = append(c.Acts, s.Act)
			c.Minutes += s.Minutes
			reasons = append(reasons, s.Why)
		}
		c.Why = strings.Join(reasons, "; ")
		d.Changeovers = append(d.Changeovers, c)
	}
}

// doneBy names who does some duties for a boil.
func (m *making) doneBy(duties []day.Duty, boil int, kinds ...string) string {
	var names []string
	for _, du := range duties {
		if n := m.prob.Hands[du.Hand].Name; du.Boil == boil && slices.Contains(kinds, du.Kind) && !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	return Listed(names)
}

// whyHere says why a boil stands at its place and at its minute.
func (m *making) whyHere(i int, r day.Reasons) []string {
	p := m.plan.Made[i]
	var out []string
	if i > 0 {
		prev := m.plan.Made[i-1]
		same := m.lots[prev.Boil].recipe == m.lots[p.Boil].recipe
		switch {
		case same:
			out = append(out, "the same sweet again, so nothing is washed or changed")
		case p.Act == day.None && p.RollsMin == 0:
			out = append(out, fmt.Sprintf("after %s nothing needs washing or changing", m.recipeOf(prev.Boil)))
		case p.Act == day.None:
			out = append(out, fmt.Sprintf("after %s nothing needs washing", m.recipeOf(prev.Boil)))
		}
	} else if p.Act == day.None {
		out = append(out, m.firstOn())
	}
	seen := map[string]bool{}
	for _, c := range r.Wait {
		if w := m.whyWait(c, p); w != "" && !seen[w] {
			seen[w] = true
			out = append(out, w)
		}
		if len(out) >= 3 {
			break
		}
	}
	if len(out) == 0 {
		out = append(out, "here it costs the day least")
	}
	return out
}

// whyWait says why a pour is not a minute earlier.
func (m *making) whyWait(c day.Cause, p day.Placed) string {
	switch c.Kind {
	case day.CauseOpening:
		return "the flame goes up as soon as the room is open and the kettle charged"
	case day.CauseKettle:
		if p.KettleClean {
			return "the kettle is busy with " + m.recipeOf(c.Other) + ", then cleaned of allergens"
		}
		return "the kettle is busy with " + m.recipeOf(c.Other) + " until then"
	case day.CauseSlab, day.CauseHook:
		return m.recipeOf(c.Other) + " is still on the " + string(c.Kind)
	case day.CauseRolls:
		return m.recipeOf(c.Other) + " is still going through the rolls"
	case day.CauseAct:
		return "it waits for the " + p.Act.String() + " of the slab"
	case day.CauseRollsSet:
		return "it waits for the rolls to be changed or cleaned"
	case day.CauseHot:
		return "earlier there are not enough hands who may do hot work"
	case day.CauseClean:
		return "earlier nobody is free to clean or change rolls"
	case day.CauseBenchers, day.CauseWeigh:
		return "it is weighed in only just in time"
	case day.CauseBreak:
		if c.Other >= 0 && c.Other < len(m.prob.Breaks) {
			return "no flame burns during " + lower(m.prob.Breaks[c.Other].Name)
		}
		return "no flame burns during the break"
	case day.CauseAdult:
		return "earlier no adult is in the room"
	case day.CauseBench:
		return "the bench is full of sheets until then"
	case day.CauseAppoint:
		if c.Other >= 0 && c.Other < len(m.prob.Appoint) {
			return "it keeps the pour announced for " + m.at(m.prob.Appoint[c.Other].At).Format("15:04")
		}
		return "it keeps an announced pour"
	case day.CausePurpose:
		return "poured no earlier on purpose: what follows fits better this way"
	}
	return ""
}

// whyNot says why a boil is not in the day.
func (m *making) whyNot(b day.Blocker) string {
	if stops := m.stopped[b.Boil]; len(stops) > 0 {
		return m.whyStopped(stops)
	}
	if without := m.idle[b.Boil]; len(without) > 0 {
		return m.whyIdle(without)
	}
	if m.ruledOut[b.Boil] {
		return m.whyRuledOut()
	}
	if b.Alone {
		return fmt.Sprintf("no time left before %s with everything else", m.at(m.prob.End).Format("15:04"))
	}
	var why []string
	for _, c := range b.Cause {
		why = append(why, m.whyNever(c))
	}
	if len(why) == 0 {
		return "it cannot be made in this day"
	}
	return Listed(why)
}

// whyNever says why a boil cannot be made even alone.
func (m *making) whyNever(c day.Cause) string {
	switch c.Kind {
	case day.CauseHot:
		return fmt.Sprintf("it needs %d people for hot work at once (rolling takes %d, a heavy pour 2) and %d may do it here", c.Level, dayMachine(m.b).RollHands(), c.Limit)
	case day.CauseClean:
		return "nobody may clean or change the rolls"
	case day.CauseAdult:
		return "no adult is there to stay with the flame"
	case day.CauseWeigh, day.CauseBenchers:
		return "nobody is there to weigh it in and pack it"
	case day.CauseLevel:
		if c.Channel >= 0 {
			return "even a full clean leaves too much " + m.channels[c.Channel].Name + " for it"
		}
		return "the line cannot be made clean enough for it"
	case day.CauseDayEnd:
		return fmt.Sprintf("alone it would run %d min past the end of the day", c.Minutes)
	case day.CauseBench:
		return "the bench does not hold its sheets"
	case day.CauseRule:
		return "a rule of the shop book keeps it out"
	case day.CauseOrder:
		return "an earlier boil of the same recipe is not made"
	case day.CauseBreak:
		return "the breaks leave no stretch long enough for it"
	}
	return "no time"
}

// offers says what would make the rest fit, or leave less over.
func (m *making) offers(d *DayPlan) {
	if len(d.Unplaced) > 0 {
		m.offersStopped(d)
		if m.overrun > 0 {
			what := "Everything"
			if len(m.stopped) > 0 {
				what = "Everything else"
			}
			d.Offers = append(d.Offers, fmt.Sprintf(what+" fits if the day is %s longer and ends at %s.",
				duration(m.overrun), m.at(m.prob.End+m.overrun).Format("Mon 15:04")))
		}
		var drop []string
		for i := range m.result.Lines {
			if !m.planned(i) {
				kind := "wished for"
				if m.lines[m.result.Lines[i].Line].Must {
					kind = "must go"
				}
				drop = append(drop, fmt.Sprintf("%s (%s)", m.lineName(m.result.Lines[i]), kind))
			}
		}
		if len(drop) > 0 {
			d.Offers = append(d.Offers, "Left for another day in this plan: "+Listed(drop)+".")
		}
		if len(d.Unplaced) > len(m.stopped)+len(m.idle) && m.hotHands() == dayMachine(m.b).RollHands() {
			d.Offers = append(d.Offers, "One more adult for the hot work would let a boil be watched while another is rolled.")
		}
		return // what leaves less over is for a day that fits
	}
	for r, why := range m.result.Recipes {
		// Less than a tenth of a whole boil is not worth an odd clock.
		if why.OddLot == nil || why.OddLess < m.kettles[r].UsualCharge/10 {
			continue
		}
		var charges []string
		for _, c := range why.OddLot.Charges {
			charges = append(charges, d.Units.Mass(c))
		}
		d.Offers = append(d.Offers, fmt.Sprintf("%s: an odd charge (%s) would leave %s less over than the charges you know the clock of.",
			m.recipes[r].Name, strings.Join(charges, " + "), d.Units.Mass(why.OddLess)))
	}
}

func (m *making) hotHands() int {
	n := 0
	for _, h := range m.prob.Hands {
		if h.Hot {
			n++
		}
	}
	return n
}

// duration prints minutes as hours and minutes.
func duration(min int) string {
	if min < 60 {
		return fmt.Sprintf("%d min", min)
	}
	if min%60 == 0 {
		return fmt.Sprintf("%d h", min/60)
	}
	return fmt.Sprintf("%d h %d min", min/60, min%60)
}

// clock lists the day's moments in order.
func (m *making) clock(d *DayPlan) {
	add := func(at time.Time, kind, batch, text string, a ...any) {
		d.Clock = append(d.Clock, Moment{At: at, Kind: kind, Batch: batch, Text: fmt.Sprintf(text, a...)})
	}
	for _, b := range d.Batches {
		what := fmt.Sprintf("%d %s", b.N, b.Name)
		add(b.FlameUp, "flame_up", b.ID, "light: %s, %s %s, %s stays with it", what, b.Size, d.Units.Mass(q.Kilograms(b.ChargeKg)), b.Lead)
		add(b.Hold, "hold", b.ID, "watch: %s passes the hold point", what)
		add(b.Pour, "pour", b.ID, "pour: %s, read %s on the glass", what, b.Sheet.Read)
		add(b.RollStart, "roll", b.ID, "roll: %s through the %s rolls until %s", what, lower(b.RollsName), b.RollEnd.Format("15:04"))
	}
	for _, c := range d.Changeovers {
		b := d.Batches[slices.IndexFunc(d.Batches, func(b Batch) bool { return b.ID == c.To })]
		for _, s := range c.SetUps {
			add(s.Begin, "changeover", c.To, "%s for %d %s until %s (%s)", s.Act, b.N, b.Name, s.End.Format("15:04"), s.Hand)
		}
	}
	for _, b := range d.Breaks {
		add(b.From, "break", "", "%s until %s, no flame", b.Name, b.To.Format("15:04"))
	}
	for _, p := range d.Pours {
		if p.Batch == "" {
			add(p.At, "announced", "", "announced: %s — no pour falls on it: %s", p.Name, p.Why)
		} else {
			add(p.At, "announced", p.Batch, "announced: %s", p.Name)
		}
	}
	if len(d.Batches) > 0 {
		add(d.WorkEnd, "packed", "", "the last bag is packed")
		add(d.Closed, "closed", "", "cleaned down and closed")
	}
	rank := []string{"announced", "break", "pour", "roll", "hold", "changeover", "flame_up", "packed", "closed"}
	slices.SortStableFunc(d.Clock, func(a, b Moment) int {
		if c := a.At.Compare(b.At); c != 0 {
			return c
		}
		return slices.Index(rank, a.Kind) - slices.Index(rank, b.Kind)
	})
}

// dutyStage names a duty's bar.
func dutyStage(kind string) string {
	switch kind {
	case day.DutyAllergen, day.DutyKettle:
		return "allergen"
	case day.DutyRolls:
		return "change"
	}
	return kind
}

func hotDuty(kind string) bool {
	switch kind {
	case day.DutyWatch, day.DutyPour, day.DutyTurn, day.DutyPull, day.DutyTend, day.DutyRoll:
		return true
	}
	return false
}

// dutyText says what somebody does.
func (m *making) dutyText(du day.Duty) string {
	what := map[string]string{
		day.DutyCharge: "charge the kettle", day.DutyWatch: "watch the boil", day.DutyPour: "pour", day.DutyTurn: "turn and fold",
		day.DutyPull: "pull", day.DutyTend: "keep the batch even", day.DutyRoll: "roll", day.DutyWipe: "wipe the line",
		day.DutyWash: "wash the line", day.DutyAllergen: "allergen clean", day.DutyRolls: "change or clean the rolls", day.DutyKettle: "allergen clean of the kettle",
		day.DutyWeigh: "weigh in", day.DutyAfter: "break, sieve, pack",
	}[du.Kind]
	if du.Boil < 0 {
		return what
	}
	return what + ", " + m.recipeOf(du.Boil)
}
