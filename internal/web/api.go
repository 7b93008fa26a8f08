package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"slices"
	"strings"

	"slabside/internal/access"
	"slabside/internal/fault"
)

// apiRoot is where programs ask. What is under it answers in JSON, faults too.
const apiRoot = "/api/v1"

func forProgram(r *http.Request) bool { return strings.HasPrefix(r.URL.Path, "/api/") }

// endpoint is one address of the API.
type endpoint struct {
	path           string // below apiRoot; a pattern of ServeMux and a path of OpenAPI alike
	get, put, post *operation
	most           int64 // the largest body [bytes]; 0: as everywhere
}

// operation is one question or one change, with all that its description needs.
type operation struct {
	summary string
	answer  string // name of the schema of the answer; empty: any object
	body    string // of a change: name of the schema of what is sent
	makes   bool   // a change that may make something new
	note    bool   // a change that writes down what was done: a helper may
	measure bool   // a change that brings readings in: a thermometer may
	list    bool   // a list of what is sent is taken too
	csv     bool   // and so is text/csv
	params  []param
	do      func(c *call) (any, error)
}

// param is one value of a query, named as the flag of the command.
type param struct {
	name, help, example string
	must                bool
	many                bool // may be given more than once
}

// call is one request under way.
type call struct {
	*http.Request
	op     *operation
	status int
	header http.Header
}

// apiRoutes are the addresses of the API.
func (s *server) apiRoutes() []route {
	var out []route
	for _, e := range s.endpoints() {
		rt := route{pattern: apiRoot + e.path, get: answering(e.get), put: answering(e.put), post: answering(e.post), see: access.Look, change: access.Change, most: e.most}
		if e.put != nil && e.put.note {
			rt.change = access.Note
		}
		if e.post != nil && e.post.measure {
			rt.change = access.Measure
		}
		out = append(out, rt)
	}
	return append(out, route{pattern: "/api/", get: apiNowhere, see: access.Look})
}

func apiNowhere(http.ResponseWriter, *http.Request) error {
	return fault.NotFound("there is nothing at this address").WithHint("%s/openapi.json lists the addresses", apiRoot)
}

// answering is the handler of an operation, nil without one.
func answering(op *operation) handler {
	if op == nil {
		return nil
	}
	return func(w http.ResponseWriter, r *http.Request) error {
		c := &call{Request: r, op: op, status: http.StatusOK, header: w.Header()}
		v, err := op.do(c)
		if err != nil {
			return err
		}
		return sendJSON(w, c.status, "application/json", v)
	}
}

// sendJSON writes v as the command line prints it with --json.
func sendJSON(w http.ResponseWriter, st int, kind string, v any) error {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return fault.Internal(err, "the answer could not be written")
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(st)
	_, _ = w.Write(buf.Bytes())
	return nil
}

// errMediaType marks a body of another kind than JSON.
var errMediaType = errors.New("not application/json")

// read fills v with the body: one JSON object of known keys and nothing after it.
func (c *call) read(v any) error {
	if kind, _, err := mime.ParseMediaType(c.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		return fault.Invalid("what was sent is not said to be JSON").WithCause(errMediaType).WithHint("send it with Content-Type: application/json")
	}
	data, err := c.whole()
	if err != nil {
		return err
	}
	return readJSON(data, v)
}

// whole returns the body.
func (c *call) whole() ([]byte, error) {
	data, err := io.ReadAll(c.Body)
	if err != nil {
		var big *http.MaxBytesError
		if errors.As(err, &big) {
			return nil, err
		}
		return nil, fault.Invalid("what was sent did not arrive whole").WithCause(err).WithHint("send it again")
	}
	return data, nil
}

// readJSON fills v with one JSON value of known keys and nothing after it.
func readJSON(data []byte, v any) error {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	err := dec.Decode(v)
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &kind):
		return fault.Invalid("a %s cannot be meant here", kind.Value).At(keysOf(kind.Field)).WithHint("%s/openapi.json says what is taken", apiRoot)
	case err != nil:
		return fault.Invalid("what was sent cannot be read: %s", strings.TrimPrefix(err.Error(), "json: ")).WithHint("%s/openapi.json says what is taken", apiRoot)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return fault.Invalid("more text after the object").WithHint("send one JSON object")
	}
	return nil
}

// keysOf leaves out of a path the Go names that the decoder puts in where a struct is
// embedded; keys begin with small letters.
func keysOf(path string) string {
	parts := strings.Split(path, ".")
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p != "" && p[0] >= 'A' && p[0] <= 'Z' }), ".")
}

// APIProblem says what is wrong, as RFC 9457 has it.
type APIProblem struct {
	Type   string     `json:"type"` // about:blank: the status says it
	Title  string     `json:"title"`
	Status int        `json:"status"`
	Detail string     `json:"detail"`
	Faults []APIFault `json:"faults"`
}

// APIFault is one thing that is wrong: where, what, and what to do.
type APIFault struct {
	Field string `json:"field"` // of the query or the body; empty if none
	Text  string `json:"text"`
	Hint  string `json:"hint"`
}

func (s *server) showProblem(w http.ResponseWriter, st int, list []*fault.Error) {
	p := APIProblem{Type: "about:blank", Title: http.StatusText(st), Status: st, Faults: []APIFault{}}
	var all []string
	for _, e := range list {
		p.Faults = append(p.Faults, APIFault{e.Field, e.Text, e.Hint})
		all = append(all, e.Error())
	}
	p.Detail = strings.Join(all, "; ")
	if err := sendJSON(w, st, "application/problem+json", p); err != nil {
		s.log.Error("problem", "error", err.Error())
	}
}
