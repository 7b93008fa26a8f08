// Package ingredient knows what a raw material is: its kind, how much of it is
// dry solids, what allergens its supplier states, what it holds of compounds that
// a law may limit, and which lots of it are in the store.
package ingredient
