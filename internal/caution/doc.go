// Package caution holds the cautions Slabside shows, each with a code and one
// fixed wording. A caution is shown at the step where it matters; no plan,
// what-if or learned figure removes one. The texts name what to do and whom to
// ask; they never call anything harmless, never give a time of contact with
// skin, and never promise the absence of an allergen.
package caution
