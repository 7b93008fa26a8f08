package web

import (
	"net/url"
	"strings"

	"slabside/internal/entry"
)

// kindWords are what the things of a shop book are called, one and several.
var kindWords = map[string][2]string{
	"shop": {"the shop", "The shop"}, "room": {"the room", "The room"}, "day": {"the day", "The day"}, "stock": {"what is on hand", "On hand"},
	"kettle": {"kettle", "Kettles"}, "slab": {"slab", "Slabs"}, "hook": {"hook", "Hooks"}, "machine": {"drop machine", "Drop machines"},
	"rolls": {"pair of rolls", "Rolls"}, "board": {"feeding board", "Boards"}, "bench": {"bench", "Benches"}, "sieve": {"sieve", "Sieves"},
	"scale": {"scale", "Scales"}, "glass": {"thermometer", "Glasses (thermometers)"}, "hand": {"person", "People"},
	"ingredient": {"ingredient", "Ingredients"}, "recipe": {"recipe", "Recipes"}, "pack": {"pack", "Packs (bags and jars)"}, "product": {"product", "Products"}, "supply": {"supply", "Supplies (packaging, gas, consumables)"},
}

func oneOf(kind string) string {
	if w, ok := kindWords[kind]; ok {
		return w[0]
	}
	return kind
}

// anyOf is some thing of the kind: "a kettle", "an ingredient".
func anyOf(kind string) string {
	one := oneOf(kind)
	if strings.ContainsRune("aeiou", rune(one[0])) {
		return "an " + one
	}
	return "a " + one
}

// theOne is a thing of the kind as a sentence speaks of it.
func theOne(kind string) string {
	if entry.Single(kind) {
		return oneOf(kind)
	}
	return "the " + oneOf(kind)
}

func manyOf(kind string) string {
	if w, ok := kindWords[kind]; ok {
		return w[1]
	}
	return capital(kind)
}

// thingHref leads to the form of a thing.
func thingHref(kind, id string) string {
	if entry.Single(kind) {
		return "/book/" + kind
	}
	return "/book/" + kind + "/" + url.PathEscape(id)
}

// newHref leads to the form of a new thing, versionsHref to the versions of one.
func newHref(kind string) string { return "/new/" + kind }

func versionsHref(kind, id string) string {
	if entry.Single(kind) {
		return "/versions/" + kind
	}
	return "/versions/" + kind + "/" + url.PathEscape(id)
}
