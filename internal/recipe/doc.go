// Package recipe holds what is boiled and what is made of it: the kettle's
// charge, the temperature it is boiled to, what is added at which stage, the
// portions it is split into, the rolls it runs through and its finish.
package recipe
