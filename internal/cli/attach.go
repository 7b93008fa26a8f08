package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"text/tabwriter"

	"slabside/internal/app"
	"slabside/internal/fault"
)

type attachCmd struct {
	Of   string `arg:"" name:"id" help:"Number of a batch or a lot."`
	File string `arg:"" optional:"" help:"The picture or paper: JPEG, PNG or PDF, up to 1 MB; left out: list what is attached."`
	Note string `help:"What there is to see." placeholder:"TEXT" eg:"'the slab after the first pour'"`
	Save string `help:"Write the file with this sum, or the beginning of it, to FILE instead." placeholder:"SUM" eg:"9f86d081"`
	Who  string `help:"Who attaches it." default:"owner" eg:"Odile"`
}

// Run attaches a file to a batch or a lot, lists what is attached or saves a file of it.
func (c *attachCmd) Run(s *session) error {
	switch {
	case c.Save != "" && c.File == "":
		return fault.Invalid("--save without a file to write").WithHint("name it: slabside attach %s photo.jpg --save %s", fault.Clip(c.Of, fault.Echo), fault.Clip(c.Save, fault.Echo))
	case c.Save != "" && c.Note != "":
		return fault.Invalid("--save with --note").WithHint("a note is written when a file is attached")
	case c.Note != "" && c.File == "":
		return fault.Invalid("--note without a file").WithHint("name the picture or paper")
	}
	return s.withBook(false, func(a *app.App) error {
		var err error
		switch {
		case c.Save != "":
			err = c.save(s, a)
		case c.File != "":
			err = c.attach(s, a)
		}
		if err != nil {
			return attachFault(err)
		}
		r, err := a.Attached(s.ctx, c.Of)
		if err != nil {
			return attachFault(err)
		}
		return s.print(r, func(p *printer) { printAttached(p, r) })
	})
}

func (c *attachCmd) attach(s *session, a *app.App) error {
	f, err := os.Open(c.File)
	if err != nil {
		return fileFault(c.File, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return fileFault(c.File, err)
	}
	if info.IsDir() {
		return fault.Invalid("%s is a folder", c.File).WithHint("name a picture or paper")
	}
	return a.Attach(s.ctx, app.AttachRequest{Of: c.Of, Name: c.File, Note: c.Note, Size: info.Size(), From: f}, c.Who)
}

// save writes one of the attached files to a new file.
func (c *attachCmd) save(s *session, a *app.App) error {
	sum, err := a.AttachedSum(s.ctx, c.Of, c.Save)
	if err != nil {
		return err
	}
	x, err := a.AttachedFile(s.ctx, sum)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(c.File, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return fault.Conflict("%s is there already", c.File).WithHint("name a file that is not there yet")
	}
	if err != nil {
		return fileFault(c.File, err)
	}
	_, err = f.Write(x.Data)
	if err := errors.Join(err, f.Close()); err != nil {
		return fault.Internal(err, "%s could not be written", c.File)
	}
	return nil
}

// fileFault says what is wrong with a file that was named.
func fileFault(name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fault.NotFound("there is no file %s", name).WithHint("look at the name")
	case errors.Is(err, fs.ErrPermission):
		return fault.Forbidden("%s may not be opened", name).WithCause(err)
	}
	return fault.Internal(err, "%s cannot be opened", name)
}

// attachFault leaves out the fields of faults: the arguments have no names to be told by.
func attachFault(err error) error {
	var f *fault.Error
	if errors.As(err, &f) && f.Field == "of" || f != nil && f.Field == "file" {
		return f.At("")
	}
	return err
}

func printAttached(p *printer, r *app.AttachedList) {
	if len(r.Attached) == 0 {
		p.line("Nothing is attached to %s.", r.Of)
		return
	}
	table(p, func(w *tabwriter.Writer) {
		fmt.Fprintln(w, "act\tday\twho\twhat\tsize\tname\tsum")
		for _, x := range r.Attached {
			what := x.Kind()
			if x.Note != "" {
				what += ", " + x.Note
			}
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t%s\t%s\n", x.Act, x.At.Format("2006-01-02"), x.Person, what, app.SaySize(r.Units, x.Bytes), x.Name, x.SHA256[:12])
		}
	})
}
