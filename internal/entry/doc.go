// Package entry lets people type the things of a shop book: every field of a
// kettle, a recipe, a day as text in the shop's own units, and back, with each
// fault at its field.
//
// The layout of a form is the schema's: a field of the schema is a field of the
// form, a table a group of them, a list rows of them. Nothing here knows what a
// kettle is, so a new kind of thing needs a row of the schema and no more.
//
// What is typed unchanged stays exactly what it was: a mass of 6.35 kg shown as
// "14 lb" and saved as "14 lb" is still 6.35 kg.
package entry
