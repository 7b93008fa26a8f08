package record

import "slices"

// Marked reports whether somebody must look before anything of the batch is sold: a
// check is answered no, or a thing was found in it.
func (r Record) Marked() bool {
	a := r.After()
	return len(r.Checked().Refused()) > 0 || a != nil && (a.Rolls == No || a.Glass == No) || len(r.All(Finding)) > 0
}

// Refused returns the items that are answered no, in their order.
func (c *Checked) Refused() []Item {
	return slices.DeleteFunc(Items(), func(x Item) bool { return c.Of(x).Says != No })
}
