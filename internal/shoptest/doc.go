// Package shoptest holds the sample shops and the fixed clock that tests of
// other packages use. The shops are invented, small, and differ from the demo
// shop; every call returns a fresh value that the caller may change.
package shoptest
