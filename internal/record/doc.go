// Package record knows what is written down of a batch while it is made: entries,
// one after the other, none of which is ever changed. What was written wrongly is
// corrected by a later entry that names it; [Fold] reads the record as it stands.
package record
