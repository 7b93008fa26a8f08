// Package demand turns what the shelf and the orders need into boils: bags to
// pieces of each recipe and colour, net of stock, and pieces to the fewest
// charges that cover them with stated confidence.
package demand
