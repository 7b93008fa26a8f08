package day

// label is a partial plan: what has been decided and all that what follows
// depends on. Minutes before front are closed: nothing decided later happens
// in them.
type label struct {
	parent int32
	code   int32 // how many boils of each recipe, mixed radix
	made   int32
	recipe int32 // of the last boil, −1 none
	placed Placed
	kept   int32   // appointment the last boil keeps, −1 none
	breaks []start // breaks placed before the last boil

	kettle   int // kettle free
	slab     int // slab free
	act      int // earliest start of the next act
	rolls    int // rolls free of the last boil
	pouredBy int // end of the last pour
	front    int
	done     int // end of everything placed
	clean    int // cleaning minutes
	levels   []int

	use     []use // minutes from front on
	cap     int   // hand-minutes free for elastic work before front
	backlog int   // after-work released before front that is not done at front, weighing left aside
	pending []release

	taken uint64 // breaks placed
	met   uint64 // appointments kept
	bound vector
}

type start struct{ which, at int }

// release is after-work that opens at a minute.
type release struct{ at, work int }

// at returns what the label holds of minute m.
func (l *label) at(m int) use {
	if i := m - l.front; i >= 0 && i < len(l.use) {
		return l.use[i]
	}
	return 0
}

// busyTo is the end of all hot work, set-ups, machines and bench of the label.
func (l *label) busyTo() int { return l.front + len(l.use) }
