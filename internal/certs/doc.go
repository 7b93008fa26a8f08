// Package certs keeps the shop's own small certificate authority, with which the
// pages are encrypted on the shop's network. Its certificate is installed once on
// each tablet; its key never leaves the folder beside the shop book.
//
// The authority may vouch for this machine's names and for addresses of private
// networks alone (a critical name constraint, RFC 5280 4.2.1.10), so that a key
// that was carried off vouches for no other site.
package certs
