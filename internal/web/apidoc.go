package web

import (
	"bytes"
	"encoding/json"
	"net/url"
	"regexp"
	"strings"

	"slabside/docs/schema"
	"slabside/internal/fault"
)

type object = map[string]any

func (s *server) getOpenAPI(c *call) (any, error) {
	if err := c.query().err(); err != nil {
		return nil, err
	}
	return openAPI(s.endpoints())
}

// openAPI describes the endpoints as OpenAPI 3.1.
// (The OpenAPI Specification 3.1.1, OpenAPI Initiative 2024.)
func openAPI(list []endpoint) (object, error) {
	d := describer{schemas: object{}}
	paths := object{}
	for _, e := range list {
		item := object{}
		if names := pathParams(e.path); len(names) > 0 {
			item["parameters"] = names
		}
		for method, op := range map[string]*operation{"get": e.get, "put": e.put, "post": e.post} {
			if op != nil {
				item[method] = d.operation(method, e.path, op)
			}
		}
		paths[apiRoot+e.path] = item
	}
	return object{
		"openapi": "3.1.1",
		"info": object{"title": "Slabside", "version": "1",
			"description": "The working book of a room where sugar is boiled, for programs. Quantities are written with their unit, as on the command line. Once the book has an owner a program sends a token, which the owner makes under People; over the shop's network always."},
		// A book that nobody has to sign in to asks for none.
		"security": []any{object{"token": []any{}}, object{"shift": []any{}}, object{}},
		"paths":    paths, "components": object{"schemas": d.schemas, "securitySchemes": object{
			"token": object{"type": "http", "scheme": "bearer", "description": "a token of a program"},
			"shift": object{"type": "apiKey", "in": "cookie", "name": entrance{network: true}.shiftCookie(), "description": "of a person who is signed in"}}},
	}, d.err
}

// pathParams are the parts of a path that vary.
func pathParams(path string) []any {
	var out []any
	for _, m := range regexp.MustCompile(`\{(\w+)\}`).FindAllStringSubmatch(path, -1) {
		out = append(out, object{"name": m[1], "in": "path", "required": true, "schema": object{"type": "string"}})
	}
	return out
}

// describer gathers the schemas that the operations name.
type describer struct {
	schemas object
	err     error
}

func (d *describer) operation(method, path string, op *operation) object {
	answer := object{"description": "done", "content": object{"application/json": object{"schema": d.schema(op.answer)}}}
	out := object{
		"operationId": method + strings.NewReplacer("/", "-", "{", "", "}", "", ".", "-").Replace(path),
		"summary":     op.summary,
		"responses": object{"200": answer, "default": d.problem("what is wrong"),
			"401": d.problem("no token, or one that is not known"), "403": d.problem("the token may not do that"), "429": d.problem("asked too often; Retry-After says when to ask again")},
	}
	if op.makes {
		out["responses"].(object)["201"] = answer
	}
	if op.body != "" {
		out["requestBody"] = object{"required": true, "content": d.sent(op)}
	}
	var params []any
	for _, p := range op.params {
		example, _ := url.QueryUnescape(p.example)
		kind, shown := object{"type": "string"}, any(example)
		if p.many { // written as name=one&name=another
			kind, shown = object{"type": "array", "items": kind}, []any{example}
		}
		params = append(params, object{"name": p.name, "in": "query", "required": p.must, "description": p.help, "schema": kind, "example": shown})
	}
	if params != nil {
		out["parameters"] = params
	}
	return out
}

// sent describes what a change takes.
func (d *describer) sent(op *operation) object {
	one := d.schema(op.body)
	if op.list {
		one = object{"oneOf": []any{one, object{"type": "array", "items": d.schema(op.body)}}}
	}
	out := object{"application/json": object{"schema": one}}
	if op.csv {
		out["text/csv"] = object{"schema": object{"type": "string"}}
	}
	return out
}

func (d *describer) problem(means string) object {
	return object{"description": means, "content": object{"application/problem+json": object{"schema": d.schema("problem")}}}
}

// schema refers to a committed schema, which moves into the document with the
// definitions it brings.
func (d *describer) schema(name string) object {
	if name == "" {
		return object{"type": "object"}
	}
	if _, ok := d.schemas[name]; !ok {
		text, err := schema.Of(name)
		var s object
		if err == nil {
			err = json.Unmarshal(bytes.ReplaceAll(text, []byte(`"#/$defs/`), []byte(`"#/components/schemas/`)), &s)
		}
		if err != nil {
			d.err = fault.Internal(err, "the description of %s could not be read", name)
		}
		defs, _ := s["$defs"].(object)
		for k, v := range defs {
			d.schemas[k] = v
		}
		delete(s, "$defs")
		delete(s, "$schema")
		d.schemas[name] = s
	}
	return object{"$ref": "#/components/schemas/" + name}
}
