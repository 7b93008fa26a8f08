package store

import "slices"

// MergeOrder returns the order of a kind's things after a file that lists some
// of them came in: the file's things in the file's order, and every other one
// behind the thing it stood behind before.
func MergeOrder(old, file []string) []string {
	out := slices.Clone(file)
	in := map[string]bool{}
	for _, s := range file {
		in[s] = true
	}
	for i, s := range old {
		if in[s] {
			continue
		}
		at := 0
		if i > 0 {
			at = slices.Index(out, old[i-1]) + 1
		}
		out = slices.Insert(out, at, s)
	}
	return out
}
