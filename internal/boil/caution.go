package boil

import (
	"fmt"

	"slabside/internal/caution"
	"slabside/internal/ingredient"
	q "slabside/internal/quantity"
	"slabside/internal/recipe"
	"slabside/internal/rig"
	"slabside/internal/sugar"
)

// Caution is what a result carries beside its figures.
type Caution = caution.Caution

// Codes of the cautions whose text carries figures of the boil; all others have
// their fixed wording in package caution.
const (
	CodeWaterAssumed caution.Code = "water-assumed"    // no water was given
	CodeSyrupUnknown caution.Code = "syrup-unknown"    // the syrup's DE or solids are not on file
	CodeGlassUnknown caution.Code = "glass-unknown"    // no glass was named
	CodeWeather      caution.Code = "weather"          // the pressure is the altitude's, not today's
	CodeCoarse       caution.Code = "dose-coarse"      // the scale is too coarse for the dose
	CodeInvert       caution.Code = "invert-unknown"   // inversion is not computed
	CodeInvertTime   caution.Code = "invert-time"      // what a slower boil inverts more
	CodeWaterUnknown caution.Code = "water-alkalinity" // the water's lime is not known, and there is acid
	CodeInvertLow    caution.Code = "invert-low"       // a tartar boil with too little invert sugar
	CodeInvertHigh   caution.Code = "invert-high"      // and with too much
	CodeNoFire       caution.Code = "no-fire"          // no kettle with a burner: no time, no fuel
	CodeOutside      caution.Code = "outside-range"    // a figure left out, its model's range is exceeded
	CodeDryGlass     caution.Code = "glass-wet"        // the additions bring much water
	CodeBothDoctors  caution.Code = "two-doctors"      // syrup and tartar together
	CodeShallow      caution.Code = "shallow"          // a pan too large for its charge
	CodeScaleUnknown caution.Code = "weighing-assumed" // no scales known
	CodeWindow       caution.Code = "addition-window"  // an addition goes in too hot or too late
	CodeCookBackMost caution.Code = "cook-back-most"   // more cook-back than is usual
	CodeCookBackAcid caution.Code = "cook-back-acid"   // cook-back brings acid into the boil
	CodeVolatile     caution.Code = "oil-class"        // how fast an oil leaves is not known
)

// The band of glucose syrup, as a share of the dry sugars: below the first a boil
// without another doctor may grain, from the last it keeps easily (source key practice).
const (
	SyrupGrains = 0.12
	SyrupEasy   = 0.25
)

// Trace is the share of syrup in the dry sugars up to which it is no doctor: what a
// colour is carried in (common practice, no source).
const Trace = 0.02

// wetAddition is the water brought by additions, as a share of the sweet, from
// which it is said: a point of water lowers what a sweet stands up to by some 8 K.
const wetAddition = 0.003

// chargeCautions are the cautions that hang on what goes into the kettle.
func (in Inputs) chargeCautions() []Caution {
	var out []Caution
	out = append(out, in.Charge.Cautions...)
	doctor, acid := false, false
	for _, l := range in.Charge.Lines {
		switch l.Ingredient.Kind {
		case ingredient.Doctor:
			doctor = true
		case ingredient.Acid:
			acid = true
			out = append(out, caution.About(caution.AcidBoil, l.Ingredient.Name))
		case ingredient.Syrup:
			if l.Ingredient.DE == 0 || l.Ingredient.Solids == 0 {
				out = append(out, Caution{Code: CodeSyrupUnknown, Text: fmt.Sprintf(
					"%s: its DE or its solids are not on file; 42 DE and 80.3 %% solids are assumed where missing, and the ranges are wider for it", l.Ingredient.Name)})
			}
		}
	}
	for _, d := range in.Additions {
		acid = acid || in.CookBack > 0 && d.Ingredient.Kind == ingredient.Acid // it comes back into the boil
		switch {
		case d.Ingredient.Kind == ingredient.Doctor && d.Stage == recipe.AtBoil:
			doctor = true
		case d.Ingredient.Kind == ingredient.Acid && d.Stage == recipe.AtBoil:
			acid = true
			out = append(out, caution.About(caution.AcidBoil, d.Ingredient.Name))
		case d.Ingredient.Spirit > 0 && d.Stage == recipe.AtBoil:
			out = append(out, caution.About(caution.SpiritOnFire, d.Ingredient.Name))
		case d.Ingredient.Kind == ingredient.Oil && d.Stage == recipe.AtBoil:
			out = append(out, caution.About(caution.OilInBoil, d.Ingredient.Name))
		case d.Stage != recipe.AtBoil && d.Ingredient.Spirit > 0:
			out = append(out, caution.About(caution.SpiritFlash, d.Ingredient.Name))
		case d.Stage != recipe.AtBoil && 1-d.Ingredient.Solids-d.Ingredient.Spirit > 0.2:
			out = append(out, caution.About(caution.LiquidsErupt, d.Ingredient.Name))
		}
	}
	if doctor {
		out = append(out, caution.Of(caution.TartarHold))
	}
	solids := in.Charge.Makeup().Solids()
	if solids.Syrup+solids.Invert < SyrupGrains && !doctor {
		out = append(out, caution.Of(caution.GrainRisk))
	}
	// Glucose or tartar, never both: source key guide1896.
	if solids.Syrup > Trace && doctor {
		out = append(out, Caution{Code: CodeBothDoctors, Text: "syrup and cream of tartar in one boil: the tartar inverts as well, and the sweet may turn sticky; the trade uses one or the other"})
	}
	out = append(out, in.kettleCautions(doctor || acid)...)
	return out
}

// kettleCautions are those of the metal of the kettle.
func (in Inputs) kettleCautions(acid bool) []Caution {
	k := in.Kettle
	if k == nil {
		return nil
	}
	var out []Caution
	if acid && k.Touches().Bare() {
		out = append(out, caution.About(caution.AcidOnCopper, "kettle "+k.Name))
	}
	if k.Touches().AsksTest() && !k.Tested.Done() {
		out = append(out, caution.About(caution.OldMetal, "kettle "+k.Name))
	}
	return out
}

// glassCautions are those of the glass.
func glassCautions(g rig.Glass, named bool, endC float64, say q.Reader) []Caution {
	if !named {
		return []Caution{{Code: CodeGlassUnknown, Text: "no glass is named: one as sold is assumed, without offset, ±" + say.Difference(g.Class, 1)}}
	}
	if float64(g.CheckedAt) < endC-checkedNear {
		return []Caution{caution.About(caution.HighCheck, "glass "+g.Name)}
	}
	return nil
}

// airCaution is that of a pressure nobody read.
func airCaution(read bool, say q.Reader) []Caution {
	if read {
		return nil
	}
	return []Caution{{Code: CodeWeather, Text: "the pressure is the standard one of the altitude; the weather of the day moves the end of the boil by some ±" + say.Difference(0.5, 1) + ": a barometer in the room narrows the range"}}
}

// ofSugar turns the physics' cautions into results'.
func ofSugar(c sugar.Caution) Caution { return Caution{Code: caution.Code(c.Code), Text: c.Text} }
