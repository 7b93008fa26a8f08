package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"

	"slabside/internal/app"
	"slabside/internal/fault"
)

// print answers with a PDF of a day's plan, made by write.
func (s *server) print(name string, write func(io.Writer, *app.DayPlan) error) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		if write == nil {
			return fault.NotFound("this program was started without prints")
		}
		b, _, err := s.shop.Book(r.Context())
		if err != nil {
			return err
		}
		req, err := s.askedDay(r, b)
		if err != nil {
			return err
		}
		p, err := s.plan(r.Context(), req)
		if err != nil {
			return err
		}
		var buf bytes.Buffer
		if err := write(&buf, p); err != nil {
			return fmt.Errorf("print %s of %s: %w", name, req.Date, err)
		}
		h := w.Header()
		h.Set("Content-Type", "application/pdf")
		h.Set("Content-Disposition", fmt.Sprintf(`inline; filename="%s-%s.pdf"`, name, req.Date))
		h.Set("Cache-Control", "no-store")
		h.Set("Content-Length", fmt.Sprint(buf.Len()))
		_, _ = w.Write(buf.Bytes()) // a reader that has gone is no error of ours
		return nil
	}
}
