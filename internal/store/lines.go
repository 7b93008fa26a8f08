package store

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"time"

	"slabside/internal/demand"
	"slabside/internal/fault"
	"slabside/internal/reading"
)

// Format is the version of the JSON lines a whole book travels as.
const Format = 1

// stamp is how times are written: RFC 3339, UTC, whole milliseconds.
const stamp = "2006-01-02T15:04:05.000Z"

// The lines, in their order in the file: start; then every act, each followed
// by its revisions, or by the bytes that it attaches if they are new; book; a to_make line
// for each line to make; a reading line for each reading; end.
type (
	startLine struct {
		Line   string `json:"line"`
		Format int    `json:"format"`
	}
	actLine struct {
		Line      string          `json:"line"`
		Seq       int64           `json:"seq"`
		ID        string          `json:"id"`
		Device    string          `json:"device"`
		DeviceSeq int64           `json:"device_seq"`
		Person    string          `json:"person"`
		At        string          `json:"at"`
		Received  string          `json:"received"`
		Kind      string          `json:"kind"`
		Reason    string          `json:"reason"`
		Corrects  int64           `json:"corrects_seq"`
		Body      json.RawMessage `json:"body"`
		PrevHash  string          `json:"prev_hash"`
		Hash      string          `json:"hash"`
	}
	revisionLine struct {
		Line   string          `json:"line"`
		ID     int64           `json:"id"`
		Act    int64           `json:"act"`
		Kind   string          `json:"kind"`
		Slug   string          `json:"slug"`
		N      int             `json:"n"`
		SHA256 string          `json:"sha256"`
		Body   json.RawMessage `json:"body"`
	}
	attachmentLine struct {
		Line   string `json:"line"`
		SHA256 string `json:"sha256"`
		Data   []byte `json:"data"` // in base64
	}
	bookLine struct {
		Line string `json:"line"`
		BookRow
	}
	makeLine struct {
		Line    string `json:"line"`
		Product string `json:"product"`
		Bags    int    `json:"bags"`
		Must    bool   `json:"must"`
		Due     string `json:"due"`
		For     string `json:"for"`
	}
	readingLine struct {
		Line     string  `json:"line"`
		Probe    string  `json:"probe"`
		At       string  `json:"at"`
		N        int     `json:"n"`
		C        float64 `json:"c"`
		In       string  `json:"in"`
		Batch    string  `json:"batch,omitempty"`
		Source   string  `json:"source"`
		By       string  `json:"by"`
		Received string  `json:"received"`
	}
	endLine struct {
		Line      string `json:"line"`
		Acts      int64  `json:"acts"`
		Revisions int64  `json:"revisions"`
		Hash      string `json:"hash"`
		Readings  int64  `json:"readings,omitempty"`     // how many
		Sum       string `json:"readings_sum,omitempty"` // SHA-256 of their lines
	}
)

// LineWriter writes a whole book as JSON lines. The first error sticks and is
// returned by End.
type LineWriter struct {
	w         *bufio.Writer
	err       error
	acts      int64
	revisions int64
	hash      string
	readings  summed
}

// summed counts readings and sums up their lines, in the form in which they are written.
type summed struct {
	n   int64
	sum hash.Hash
}

func (s *summed) add(l readingLine) {
	if s.sum == nil {
		s.sum = sha256.New()
	}
	text, err := plainJSON(l)
	if err != nil { // a value that is no number, which was refused
		return
	}
	s.n++
	s.sum.Write(append(text, '\n'))
}

// text is the sum in lower-case hexadecimal, empty where there is none.
func (s *summed) text() string {
	if s.n == 0 {
		return ""
	}
	return hex.EncodeToString(s.sum.Sum(nil))
}

// NewLineWriter starts the file.
func NewLineWriter(w io.Writer) *LineWriter {
	l := &LineWriter{w: bufio.NewWriter(w), hash: FirstHash}
	l.line(startLine{"start", Format})
	return l
}

func (l *LineWriter) line(v any) {
	if l.err != nil {
		return
	}
	text, err := plainJSON(v)
	if err == nil {
		_, err = l.w.Write(append(text, '\n'))
	}
	l.err = err
}

// Act writes an act; its revisions come next.
func (l *LineWriter) Act(a Act) {
	l.acts, l.hash = l.acts+1, a.Hash
	l.line(actLine{"act", a.Seq, a.ID, a.Device, a.DeviceSeq, a.Person, a.At.UTC().Format(stamp), a.Received.UTC().Format(stamp),
		a.Kind, a.Reason, a.Corrects, a.Body, a.PrevHash, a.Hash})
}

// Revision writes a revision of the act before it.
func (l *LineWriter) Revision(r Revision) {
	l.revisions++
	l.line(revisionLine{"revision", r.ID, r.Act, r.Kind, r.Slug, r.N, r.SHA256, r.Body})
}

// Attachment writes the bytes that the act before it attaches.
func (l *LineWriter) Attachment(sum string, data []byte) {
	l.line(attachmentLine{"attachment", sum, data})
}

// Beside writes what is kept beside the log but for the readings, which come next.
func (l *LineWriter) Beside(row BookRow, lines []demand.Line) {
	l.line(bookLine{"book", row})
	for _, m := range lines {
		l.line(makeLine{"to_make", m.Product, m.Bags, m.Must, m.Due, m.For})
	}
}

// Reading writes a reading, in the order of [reading.Compare].
func (l *LineWriter) Reading(k reading.Kept) {
	line := lineOf(k)
	l.readings.add(line)
	l.line(line)
}

func lineOf(k reading.Kept) readingLine {
	return readingLine{"reading", k.Probe, k.At.UTC().Format(stamp), k.N, k.C, string(k.In), k.Batch, string(k.Source), k.By, k.Received.UTC().Format(stamp)}
}

// End closes the file.
func (l *LineWriter) End() error {
	l.line(endLine{"end", l.acts, l.revisions, l.hash, l.readings.n, l.readings.text()})
	if l.err == nil {
		l.err = l.w.Flush()
	}
	return l.err
}

// Sink takes in a log entry by entry. Entries have been checked when they come.
type Sink interface {
	Act(Act) error
	Revision(Revision, []Ref) error
	// Attachment gives the bytes that an act attaches.
	Attachment(sum string, data []byte) error
	// Settle ends an act: its revisions have all come.
	Settle(ActBody) error
	// Reading gives a reading; all acts have been settled.
	Reading(reading.Kept) error
	// Lines gives the lines to make as they stand at the end.
	Lines([]demand.Line) error
}

// mostLine is the longest line read [bytes].
const mostLine = 32 << 20

// ReadLines reads what LineWriter wrote, checks each line against the lines
// before it, and hands the entries to the sink. A broken line is Invalid with
// the field "line N"; an error of the sink is returned as it is.
func ReadLines(r io.Reader, to Sink) (*State, error) {
	in := lineReader{r: bufio.NewReaderSize(r, 1<<16), state: NewState(), to: to}
	for {
		text, err := in.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if err := in.take(text); err != nil {
			return nil, err
		}
	}
	if in.stage != stageEnd {
		in.n++
		return nil, in.wrong("the file stops before its end")
	}
	return in.state, nil
}

// The stages of a file.
const (
	stageStart = iota
	stageLog
	stageMake
	stageReadings
	stageEnd
)

type lineReader struct {
	r     *bufio.Reader
	n     int // line number
	stage int
	open  bool // an act waits for its revisions
	acts  int64
	lines []demand.Line
	state *State
	to    Sink

	readings summed
}

// next returns the next line that is not blank.
func (in *lineReader) next() ([]byte, error) {
	for {
		var text []byte
		for {
			part, err := in.r.ReadSlice('\n')
			text = append(text, part...)
			if len(text) > mostLine {
				in.n++
				return nil, in.wrong("the line is longer than %d MB", mostLine>>20)
			}
			if err == nil || err == io.EOF && len(text) > 0 {
				break
			}
			if err != nil && !errors.Is(err, bufio.ErrBufferFull) {
				if err == io.EOF {
					return nil, err
				}
				return nil, fault.Internal(err, "could not read on after line %d", in.n)
			}
		}
		in.n++
		if text = bytes.TrimSpace(text); len(text) > 0 {
			return text, nil
		}
	}
}

// wrong is the fault for the line at hand.
func (in *lineReader) wrong(format string, v ...any) error {
	return fault.Invalid(format, v...).At(fmt.Sprintf("line %d", in.n)).WithHint("nothing was taken in; use an unaltered export")
}

// take deals with one line.
func (in *lineReader) take(text []byte) error {
	var head struct {
		Line string `json:"line"`
	}
	if err := json.Unmarshal(text, &head); err != nil {
		return in.wrong("this is not a JSON object with a line member")
	}
	switch {
	case head.Line == "start" && in.stage == stageStart:
		return in.start(text)
	case head.Line == "act" && in.stage == stageLog:
		return in.act(text)
	case head.Line == "revision" && in.stage == stageLog:
		return in.revision(text)
	case head.Line == "attachment" && in.stage == stageLog:
		return in.attachment(text)
	case head.Line == "book" && in.stage == stageLog:
		return in.book(text)
	case head.Line == "to_make" && in.stage == stageMake:
		return in.make(text)
	case head.Line == "reading" && (in.stage == stageMake || in.stage == stageReadings):
		return in.reading(text)
	case head.Line == "end" && (in.stage == stageMake || in.stage == stageReadings):
		return in.end(text)
	}
	return in.wrong("a line %q cannot stand here", fault.Clip(head.Line, fault.Echo))
}

func (in *lineReader) start(text []byte) error {
	var l startLine
	if err := strict(text, &l); err != nil {
		return in.wrong("the line cannot be read")
	}
	if l.Format != Format {
		return in.wrong("the file's format is %d, this program reads format %d", l.Format, Format)
	}
	in.stage = stageLog
	return nil
}

func (in *lineReader) act(text []byte) error {
	var l actLine
	if err := strict(text, &l); err != nil {
		return in.wrong("the act cannot be read")
	}
	at, err1 := time.Parse(stamp, l.At)
	received, err2 := time.Parse(stamp, l.Received)
	body, err3 := compact(l.Body)
	if err := errors.Join(err1, err2, err3); err != nil {
		return in.wrong("the act's times or body cannot be read")
	}
	if err := in.settle(); err != nil {
		return err
	}
	a := Act{l.Seq, l.ID, l.Device, l.DeviceSeq, l.Person, at, received, l.Kind, l.Reason, l.Corrects, body, l.PrevHash, l.Hash}
	if p := in.state.Act(a); len(p) > 0 {
		return in.wrong("act %d: %s", a.Seq, p[0])
	}
	in.open, in.acts = true, in.acts+1
	return in.to.Act(a)
}

func (in *lineReader) revision(text []byte) error {
	var l revisionLine
	if err := strict(text, &l); err != nil {
		return in.wrong("the revision cannot be read")
	}
	body, err := compact(l.Body)
	if err != nil {
		return in.wrong("the revision's body cannot be read")
	}
	r := Revision{l.ID, l.Kind, l.Slug, l.N, l.SHA256, l.Act, body}
	if p := in.state.Revision(r); len(p) > 0 {
		return in.wrong("revision %d: %s", r.ID, p[0])
	}
	refs, err := Refs(r.Kind, r.Body)
	if err != nil {
		return in.wrong("revision %d: its content cannot be read", r.ID)
	}
	for _, ref := range refs {
		if in.state.things[ref.Name] == nil {
			return in.wrong("revision %d: it uses %s, which is not there", r.ID, ref.Name)
		}
	}
	return in.to.Revision(r, refs)
}

func (in *lineReader) attachment(text []byte) error {
	var l attachmentLine
	if err := strict(text, &l); err != nil {
		return in.wrong("the attachment cannot be read")
	}
	if p := in.state.Attachment(l.SHA256, l.Data); len(p) > 0 {
		return in.wrong("attachment: %s", p[0])
	}
	return in.to.Attachment(l.SHA256, l.Data)
}

// settle ends the act before the line at hand.
func (in *lineReader) settle() error {
	if !in.open {
		return nil
	}
	in.open = false
	body := in.state.Body()
	if p := in.state.Settle(); len(p) > 0 {
		return in.wrong("%s", p[0])
	}
	return in.to.Settle(body)
}

func (in *lineReader) book(text []byte) error {
	var l bookLine
	if err := strict(text, &l); err != nil {
		return in.wrong("the line cannot be read")
	}
	if err := in.settle(); err != nil {
		return err
	}
	if l.BookRow != in.state.Row {
		return in.wrong("the book's line does not fit its shop")
	}
	in.stage = stageMake
	return nil
}

func (in *lineReader) make(text []byte) error {
	var l makeLine
	if err := strict(text, &l); err != nil {
		return in.wrong("the line cannot be read")
	}
	i := len(in.lines)
	if i >= len(in.state.ToMake) || in.state.ToMake[i] != (Make{l.Product, l.Bags, l.Must, l.Due}) {
		return in.wrong("this line to make does not fit the acts")
	}
	in.lines = append(in.lines, demand.Line{Product: l.Product, Bags: l.Bags, Must: l.Must, Due: l.Due, For: l.For})
	if err := CheckLines(in.lines[i:]); err != nil {
		return in.wrong("this line to make cannot be kept")
	}
	return nil
}

func (in *lineReader) reading(text []byte) error {
	var l readingLine
	if err := strict(text, &l); err != nil {
		return in.wrong("the reading cannot be read")
	}
	at, err1 := time.Parse(stamp, l.At)
	received, err2 := time.Parse(stamp, l.Received)
	if err := errors.Join(err1, err2); err != nil {
		return in.wrong("the reading's times cannot be read")
	}
	if in.stage == stageMake {
		if err := in.allMade(); err != nil {
			return err
		}
		in.stage = stageReadings
	}
	k := reading.Kept{N: l.N, Reading: reading.Reading{Probe: l.Probe, At: at, C: l.C, In: reading.Place(l.In), Batch: l.Batch,
		Source: reading.Source(l.Source), By: l.By, Received: received}}
	if p := in.state.Reading(k); len(p) > 0 {
		return in.wrong("reading: %s", p[0])
	}
	in.readings.add(l)
	return in.to.Reading(k)
}

// allMade refuses to go on without a line to make.
func (in *lineReader) allMade() error {
	if len(in.lines) != len(in.state.ToMake) {
		return in.wrong("%d lines to make are missing", len(in.state.ToMake)-len(in.lines))
	}
	return nil
}

func (in *lineReader) end(text []byte) error {
	var l endLine
	if err := strict(text, &l); err != nil {
		return in.wrong("the line cannot be read")
	}
	if err := in.allMade(); err != nil {
		return err
	}
	if l.Readings != in.readings.n || l.Sum != in.readings.text() {
		return in.wrong("the readings are not those that were written: %d are here and %d are told", in.readings.n, l.Readings)
	}
	if l.Acts != in.acts || l.Revisions != in.state.Revisions || l.Hash != in.state.Hash || in.acts == 0 {
		return in.wrong("the end does not fit what came before it")
	}
	in.stage = stageEnd
	return in.to.Lines(in.lines)
}

// compact takes out white space that a tool may have put in.
func compact(raw json.RawMessage) ([]byte, error) {
	var buf bytes.Buffer
	err := json.Compact(&buf, raw)
	return buf.Bytes(), err
}
