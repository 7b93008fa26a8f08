// Package verdict says what the figures of a boil mean for the sweet: will it
// stick, will it grain, will it brown. Every verdict holds one figure with its
// range against a limit with its source; the range decides, not the middle: a
// range that crosses the limit is borderline.
package verdict
