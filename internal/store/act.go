package store

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/lot"
	"slabside/internal/record"
)

// FirstHash is what the first act names as the hash before it.
const FirstHash = "0000000000000000000000000000000000000000000000000000000000000000"

// ActBody is what an act did. It holds enough to rebuild everything but the
// definitions themselves, which it holds to by their sums. Whom a line to make
// is for is left out: it may name a customer, and an act is never erased.
type ActBody struct {
	Revisions []Mark  `json:"revisions,omitempty"` // new ones, in the order of their ids
	Retired   []Name  `json:"retired,omitempty"`
	Back      []Name  `json:"back,omitempty"`    // retired before, in the book again
	Order     []Order `json:"order,omitempty"`   // kinds whose order changed
	ToMake    *[]Make `json:"to_make,omitempty"` // the whole list; absent: as it was

	Entry *record.Entry `json:"entry,omitempty"` // of a batch's record
	Lots  []lot.Entry   `json:"lots,omitempty"`  // what a weighing of that record, or the making of that lot, does to others
	Lot   *lot.Entry    `json:"lot,omitempty"`   // of a lot's ledger
	Jot   *Jot          `json:"jot,omitempty"`   // of one of the journals

	Attachment *Attachment `json:"attachment,omitempty"` // a picture or paper, without its bytes
}

// Mark ties an act to the content of a revision.
type Mark struct {
	Name
	N      int    `json:"n"`
	SHA256 string `json:"sha256"`
}

// Order is the whole order of a kind's live things.
type Order struct {
	Kind  string   `json:"kind"`
	Slugs []string `json:"slugs"`
}

// Make is a line to make as an act keeps it.
type Make struct {
	Product string `json:"product"`
	Bags    int    `json:"bags"`
	Must    bool   `json:"must"`
	Due     string `json:"due,omitempty"`
}

// Makes returns the lines as an act keeps them; never nil.
func Makes(lines []demand.Line) []Make {
	all := make([]Make, 0, len(lines))
	for _, l := range lines {
		all = append(all, Make{l.Product, l.Bags, l.Must, l.Due})
	}
	return all
}

// Encode returns the JSON of the body as it is kept and hashed.
func (b ActBody) Encode() ([]byte, error) { return plainJSON(b) }

// DecodeBody reads an act's body.
func DecodeBody(body []byte) (ActBody, error) {
	var b ActBody
	err := strict(body, &b)
	return b, err
}

// HashAct returns the hash of an act: SHA-256, in lower-case hexadecimal, over
// its fields as netstrings (length in bytes, colon, the bytes, comma), in this
// order: the words "slabside act 1", seq, id, device, device seq, person, at,
// received, kind, reason, corrects, body, previous hash.
//
//	hash = hex(SHA-256("14:slabside act 1,1:7,6:desk-7,…"))
//
// Numbers are decimal, times milliseconds since 1970 UTC, and an act that
// corrects none has "0" there. The length in front of each field makes it
// impossible to shift text from one field into the next.
func HashAct(a Act) string {
	h := sha256.New()
	for _, field := range []string{
		"slabside act 1",
		strconv.FormatInt(a.Seq, 10), a.ID, a.Device, strconv.FormatInt(a.DeviceSeq, 10), a.Person,
		strconv.FormatInt(a.At.UnixMilli(), 10), strconv.FormatInt(a.Received.UnixMilli(), 10),
		a.Kind, a.Reason, strconv.FormatInt(a.Corrects, 10), string(a.Body), a.PrevHash,
	} {
		h.Write([]byte(strconv.Itoa(len(field)) + ":" + field + ","))
	}
	return hex.EncodeToString(h.Sum(nil))
}

// ActID returns the id of the device's n-th act.
func ActID(device string, n int64) string { return device + "-" + strconv.FormatInt(n, 10) }

// CheckMeta refuses what cannot be kept about an act.
func CheckMeta(m Meta) error {
	for _, s := range []struct{ field, text string }{{"person", m.Person}, {"reason", m.Reason}} {
		if !utf8.ValidString(s.text) || strings.ContainsRune(s.text, 0) {
			return fault.Invalid("the text is not valid UTF-8 or holds a zero byte").At(s.field)
		}
	}
	if m.Tap != (Tap{}) && (!deviceName.MatchString(m.Device) || m.N < 1) {
		return fault.Invalid("that is no tap of a device").At("tap")
	}
	if ms := m.At.UnixMilli(); ms <= 0 || ms > lastMs {
		return fault.Invalid("an act needs the time it is done").At("at")
	}
	return nil
}

// deviceName is the name of a device that taps: it is never that of the program.
var deviceName = regexp.MustCompile(`^tap-[0-9a-z-]{1,36}$`)

// MissingTap is the fault of a tap before which others are missing.
func MissingTap(want int64) *fault.Error {
	return fault.Conflict("expected %d", want).At("tap").WithHint("send the taps before it first")
}

// CheckLines refuses lines to make that cannot be kept.
func CheckLines(lines []demand.Line) error {
	for i, l := range lines {
		if l.Bags < 0 || int64(l.Bags) > mostBags {
			return fault.Invalid("%d bags cannot be made", l.Bags).At(indexed("to_make", i, "bags"))
		}
		for _, s := range []struct{ name, text string }{{"due", l.Due}, {"for", l.For}} {
			if !utf8.ValidString(s.text) || strings.ContainsRune(s.text, 0) {
				return fault.Invalid("the text is not valid UTF-8 or holds a zero byte").At(indexed("to_make", i, s.name))
			}
		}
	}
	return nil
}

// lastMs is the end of the year 9999, the last that RFC 3339 can write.
const lastMs = 253402300799999

// mostBags keeps a count of bags within a column of 32 bits.
const mostBags = 1<<31 - 1

// indexed names a field of a list's i-th entry.
func indexed(list string, i int, name string) string {
	return list + "[" + strconv.Itoa(i) + "]." + name
}

// strict decodes JSON into v and refuses unknown members and text after it.
func strict(data []byte, v any) error {
	d := json.NewDecoder(strings.NewReader(string(data)))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return err
	}
	if d.InputOffset() != int64(len(strings.TrimRight(string(data), " \t\r\n"))) {
		return fault.Invalid("there is more text after the end")
	}
	return nil
}
