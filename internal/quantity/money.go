package quantity

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/currency"
	"golang.org/x/text/language"
	"golang.org/x/text/message"

	"slabside/internal/fault"
)

// Money is an amount of a currency as it is kept, "2.80 GBP": so many decimals as
// the currency has, a space, three letters of ISO 4217. Empty is no amount. It is
// text because no amount means anything without its currency; sums are made of its
// [Money.Minor] units.
type Money string

// mostMoney bounds an amount, in minor units: no price of a shop comes near it.
const mostMoney = 1e12

// noCurrency is how ISO 4217 writes that no currency is meant.
const noCurrency = "XXX"

// KnownCurrency reports whether three letters name a currency of ISO 4217.
func KnownCurrency(code string) bool {
	u, err := currency.ParseISO(code)
	return err == nil && u.String() == code && code != noCurrency
}

// ParseMoney reads "2.80 GBP", "GBP 2.80" or "2,80 GBP".
//
// Invalid for an amount without a currency, with more decimals than it has, or
// below nothing.
func ParseMoney(s string) (Money, error) { return ParseMoneyIn(s, "") }

// ParseMoneyIn reads an amount as ParseMoney does, and in a shop's own currency
// also a bare "2.80" and one with its sign, "£2.80" or "2.80 £".
func ParseMoneyIn(s, code string) (Money, error) {
	const hint = "write an amount with its currency, such as 2.80 GBP"
	bad := func(why string) (Money, error) {
		return "", fault.Invalid("price %q %s", fault.Clip(s, fault.Echo), why).WithHint(hint)
	}
	text := strings.TrimSpace(s)
	number := strings.TrimFunc(text, func(r rune) bool { return !unicode.IsDigit(r) && r != '-' && r != '+' && r != '.' && r != ',' })
	at := strings.Index(text, number)
	before, after := strings.TrimSpace(text[:at]), strings.TrimSpace(text[at+len(number):])
	name := before + after
	switch {
	case number == "" || before != "" && after != "" || len(text) > 40:
		return bad("cannot be read")
	case name == "" && code == "":
		return bad("has no currency")
	case name == "" || code != "" && (name == sign(code) || name == narrowSign(code)):
		name = code
	}
	name = strings.ToUpper(name)
	if !KnownCurrency(name) {
		return bad("names no currency that is known")
	}
	plain, _, err := split(number)
	if err != nil {
		return bad(err.Error())
	}
	if strings.HasPrefix(plain, "-") {
		return bad("is below nothing")
	}
	places := decimalsOf(name)
	whole, part, _ := strings.Cut(strings.TrimPrefix(plain, "+"), ".")
	part = strings.TrimRight(part, "0")
	if len(part) > places {
		return bad("has more decimals than the " + name + " has")
	}
	part += strings.Repeat("0", places-len(part))
	minor, err := strconv.ParseUint("0"+whole+part, 10, 64)
	switch {
	case err != nil && !errors.Is(err, strconv.ErrRange):
		return bad("cannot be read")
	case err != nil || minor > mostMoney:
		return bad("is more than anybody pays")
	}
	whole = strconv.FormatUint(minor/uint64(math.Pow10(places)), 10)
	if places > 0 {
		whole += "." + part
	}
	return Money(whole + " " + name), nil
}

// decimalsOf returns how many decimals a currency has: 2 for most, 0 for the yen.
func decimalsOf(code string) int {
	u, err := currency.ParseISO(code)
	if err != nil {
		return 2
	}
	places, _ := currency.Standard.Rounding(u)
	return places
}

// Minor returns the amount in the smallest unit of its currency, pence of pounds.
func (m Money) Minor() int64 {
	number, _, _ := strings.Cut(string(m), " ")
	n, _ := strconv.ParseInt(strings.Replace(number, ".", "", 1), 10, 64) // as it is kept, all its decimals are there
	return n
}

// Currency returns the three letters of the amount's currency.
func (m Money) Currency() string {
	_, code, _ := strings.Cut(string(m), " ")
	return code
}

// UnmarshalText reads an amount as ParseMoney does.
func (m *Money) UnmarshalText(b []byte) error {
	v, err := ParseMoney(string(b))
	*m = v
	return err
}

// Money prints an amount as the reader writes one: "£2.80" with a point, "2,80 €"
// with a comma, "CHF 2.80" where the currency has no sign.
func (r Reader) Money(m Money) string {
	number, code, _ := strings.Cut(string(m), " ")
	s := sign(code)
	switch last := []rune(s); {
	case m == "":
		return ""
	case r.Decimal() == Comma:
		return r.Decimal().Mark(number) + " " + s
	case unicode.IsLetter(last[len(last)-1]):
		return s + " " + number
	default:
		return s + number
	}
}

// sign returns what an English text calls a currency: £, $, CA$, CHF (Unicode CLDR).
func sign(code string) string {
	return signBy(currency.Symbol, code)
}

// narrowSign returns what a currency is called at home, where nobody asks which
// dollar is meant.
func narrowSign(code string) string { return signBy(currency.NarrowSymbol, code) }

func signBy(f currency.Formatter, code string) string {
	u, err := currency.ParseISO(code)
	if err != nil {
		return code
	}
	return message.NewPrinter(language.English).Sprint(f(u))
}
