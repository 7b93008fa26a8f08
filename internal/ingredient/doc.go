// Package ingredient knows what a raw material is: its kind, how much of it is
// dry solids, what allergens its supplier states, and which lots of it are in
// the store.
package ingredient
