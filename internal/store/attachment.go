package store

import (
	"bytes"
	"maps"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"slabside/internal/fault"
)

// The kinds of file that are kept, as media types.
const (
	TypeJPEG = "image/jpeg"
	TypePNG  = "image/png"
	TypePDF  = "application/pdf"
)

// MostAttached is the largest file that is kept [bytes].
const MostAttached = 1 << 20

// mostNote is the longest name or note of an attachment [characters].
const mostNote = 500

// Attachment is a picture or paper of a batch or a lot, as an act keeps it. Its bytes
// stand apart and are found by their sum.
type Attachment struct {
	Of     string `json:"of"`     // number of the batch or the lot
	SHA256 string `json:"sha256"` // of the bytes, in lower-case hexadecimal
	Bytes  int64  `json:"bytes"`  // how many
	Type   string `json:"type"`   // by the bytes
	Name   string `json:"name,omitempty"`
	Note   string `json:"note,omitempty"`
}

// KeptAttachment is an attachment with the act that brought it in.
type KeptAttachment struct {
	Attachment
	Act int64
	Meta
}

// AttachmentOf describes bytes by what they are.
func AttachmentOf(data []byte) Attachment {
	return Attachment{SHA256: Sum(data), Bytes: int64(len(data)), Type: TypeOf(data)}
}

// TypeOf returns the kind of a file by how its bytes begin, empty for any that is not
// kept: a JPEG's start of image and the marker after it (ITU-T T.81, B.1.1), the
// signature of a PNG (ISO/IEC 15948, 5.2), the header of a PDF (ISO 32000-1, 7.5.2).
func TypeOf(data []byte) string {
	for _, k := range [...]struct{ begin, name string }{{"\xff\xd8\xff", TypeJPEG}, {"\x89PNG\r\n\x1a\n", TypePNG}, {"%PDF-", TypePDF}} {
		if bytes.HasPrefix(data, []byte(k.begin)) {
			return k.name
		}
	}
	return ""
}

var sumForm = regexp.MustCompile(`^[0-9a-f]{64}$`)

// CheckData refuses an attachment that cannot be kept, and one that says something else
// than its bytes. The fault's field is "file", "name" or "note".
func CheckData(a Attachment, data []byte) error {
	is := AttachmentOf(data)
	switch {
	case len(data) == 0:
		return fault.Invalid("the file is empty").At("file").WithHint("choose the picture or the paper")
	case len(data) > MostAttached:
		return fault.Invalid("%d bytes are more than the %d that are kept", len(data), MostAttached).At("file").WithHint("make it smaller")
	case is.Type == "":
		return fault.Invalid("the file is neither a JPEG or PNG picture nor a PDF, whatever its name says").At("file").
			WithHint("save it as one of these")
	case a.SHA256 != is.SHA256 || a.Bytes != is.Bytes || a.Type != is.Type:
		return fault.Invalid("the bytes are not those of the sum, size or type that is told").At("file")
	}
	return a.check()
}

// check refuses what cannot be, as far as it can be told without the bytes.
func (a Attachment) check() error {
	if !sumForm.MatchString(a.SHA256) || a.Bytes < 1 || a.Bytes > MostAttached || a.Type != TypeJPEG && a.Type != TypePNG && a.Type != TypePDF {
		return fault.Invalid("that is no sum, size or type of a file that is kept").At("file")
	}
	for _, s := range [...]struct{ field, text string }{{"name", a.Name}, {"note", a.Note}} {
		switch {
		case !utf8.ValidString(s.text) || strings.ContainsRune(s.text, 0):
			return fault.Invalid("the text is not valid UTF-8 or holds a zero byte").At(s.field)
		case utf8.RuneCountInString(s.text) > mostNote:
			return fault.Invalid("the text has more than %d characters", mostNote).At(s.field).WithHint("say it in fewer words")
		}
	}
	return nil
}

// FollowAttachment refuses what the batch or lot has already.
func FollowAttachment(kept []KeptAttachment, a Attachment) error {
	for _, k := range kept {
		if k.SHA256 == a.SHA256 {
			return fault.Conflict("this file is attached to %s already, by act %d", a.Of, k.Act).At("file").WithHint("there is nothing to do")
		}
	}
	return nil
}

// KeepAttachment returns an attachment as the act that brought it in keeps it.
func KeepAttachment(a Act, x Attachment) KeptAttachment {
	return KeptAttachment{x, a.Seq, Meta{Person: a.Person, At: a.At, Reason: a.Reason}}
}

// attach takes the attachment of an act in; bytes that never came must follow.
func (s *State) attach(a Act, body ActBody) []string {
	x := body.Attachment
	if a.Kind != ActAttach || x == nil || a.Corrects != 0 || body.Entry != nil || body.Lot != nil || len(body.Lots) > 0 || body.Jot != nil {
		return []string{"it attaches something, or does not, against its kind"}
	}
	var p []string
	if err := x.check(); err != nil {
		p = append(p, err.Error())
	}
	if len(s.records[x.Of]) == 0 && len(s.lots[x.Of]) == 0 && len(s.jots[jotKey{SupplyJournal, x.Of}].list) == 0 {
		p = append(p, "it attaches something to a batch or lot that is not there")
	}
	if err := FollowAttachment(s.attached[x.Of], *x); err != nil {
		p = append(p, err.Error())
	}
	if first, ok := s.sums[x.SHA256]; !ok {
		s.sums[x.SHA256], s.wants = *x, x
	} else if first.Bytes != x.Bytes || first.Type != x.Type {
		p = append(p, "the bytes with its sum have another size or type")
	}
	s.attached[x.Of] = append(s.attached[x.Of], KeepAttachment(a, *x))
	return p
}

// Wants returns the sum of the bytes that must follow the act at hand, empty for none.
func (s *State) Wants() string {
	if s.wants == nil {
		return ""
	}
	return s.wants.SHA256
}

// Attachment takes the bytes that the act at hand attaches.
func (s *State) Attachment(sum string, data []byte) []string {
	x := s.wants
	s.wants = nil
	if x == nil || x.SHA256 != sum {
		return []string{"no act before it waits for these bytes"}
	}
	if err := CheckData(*x, data); err != nil {
		return []string{err.Error()}
	}
	return nil
}

// Attached returns what is attached to a batch or a lot.
func (s *State) Attached(of string) []KeptAttachment { return s.attached[of] }

// AttachedTo returns the numbers that something is attached to.
func (s *State) AttachedTo() []string { return slices.Sorted(maps.Keys(s.attached)) }

// HasSum reports whether bytes with a sum were ever attached.
func (s *State) HasSum(sum string) bool {
	_, ok := s.sums[sum]
	return ok
}
