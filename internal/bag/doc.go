// Package bag knows what goes into a bag: the products a shop sells, how a
// mixture is shared out between sweets by piece or by mass, and the chance that
// a bag filled from a blended pool holds enough of each; and what packs they are sold in.
package bag
