// Package trouble knows what to do when a batch goes wrong: the next thirty seconds,
// what may become of the batch and what may not, what the line needs before the next
// boil, and which causes the record speaks for. It reads no book and predicts nothing:
// the facts come in, see [Facts] and [Evidence].
//
// What the trade holds here is common practice, no source, unless a key says otherwise;
// first aid, fire and gas defer to local codes.
package trouble
