// Package rig knows what stands in the boiling room: kettles, slabs, rolls,
// glasses, scales, the hands that use them, the air they stand in, and how long
// the usual jobs take there. It holds facts and simple questions about them; it
// computes no sugar.
package rig
