// Package paper prints a making day: a day sheet on one page and a batch sheet
// a boil, as PDF, with boxes for what really happened. It prints what the use
// cases computed and computes nothing itself. The pages are the accessible
// version of the same figures.
package paper
