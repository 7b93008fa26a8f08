// Package hottest makes rooms in which batches of candy cool by another, finer model
// than the one they are forecast by, so that the ranges of a forecast can be measured
// against a truth that owes them nothing.
//
// # What is finer
//
//	poured    across the width as well as through the depth, plate and all, until the
//	          band along the edge has stiffened; the contact goes slack as a skin forms
//	folded    the outer halves over the inner, upside down, and a plate that stays where
//	          it is and remembers
//	kneaded   layers that are turned over every fifteen to twenty-five seconds and mixed
//	          in part, on places of the table that take turns
//	waiting   layers of a heap on wood or on the table, turned now and then, whose sides
//	          grow as it gets smaller
//	matter    another curve of heat capacity, a conductivity that is the same at all
//	          temperatures, another law of free convection
//
// Nothing here calls packages heat, slab or roller, nor any model of sugar; what a [Shop] states of itself
// is put into the words of package batch in one file, its own.
//
// # What a room draws
//
// Each figure that nobody knows is drawn once a room, and what scatters once a batch, by
// Student's t of three degrees of freedom, whose 5 % and 95 % points lie where source keys
// practice, model-heat and model-sugar put them. Its tails are heavy: one draw in eight
// hundred is four times as far out as its 95 % point. People tap late, now and then very
// late, and their thermometers are off. Every room hangs on its number alone.
package hottest
