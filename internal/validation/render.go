package validation

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// Render makes docs/validation.md from the summaries of every package below
// root/internal.
func Render(root string) (string, error) {
	files, err := filepath.Glob(filepath.Join(root, "internal", "*", summaryFile))
	if err != nil {
		return "", err
	}
	slices.Sort(files)
	var b strings.Builder
	b.WriteString(preface)
	for _, file := range files {
		rows, err := readSummary(file)
		if err != nil {
			return "", err
		}
		room := filepath.Base(filepath.Dir(filepath.Dir(file)))
		fmt.Fprintf(&b, "\n## %s\n\n%s", room, share(rows))
		section(&b, "Rows of outside origin", rows, Outside)
		section(&b, "Exact solutions, worked out apart from this program", rows, Exact)
		section(&b, "Outside rows the model was fitted to", rows, Fitted)
		section(&b, "Outside rows of doubtful worth", rows, Doubtful)
		section(&b, "Rivals, which must fail", rows, Rival)
		section(&b, "Regression: computed from the same model", rows, Regression)
		section(&b, "Outside rows left out", rows, LeftOut)
		text, err := renderCoverage(filepath.Join(filepath.Dir(file), filepath.Base(coverageFile)))
		if err != nil {
			return "", err
		}
		b.WriteString(text)
	}
	return b.String(), nil
}

const preface = `# Validation

Made by the tests from what they computed; not edited by hand. Sources are the keys
of [sources.md](sources.md). Differences are model minus table. A tolerance comes from
the last printed digit or the stated uncertainty of the source, or from the stated error
of the model, whichever is larger; its reason stands beside it. Only rows of outside
origin count as a check. A rival model is put to the same rows and tolerances, and the
tests fail if it passes.
`

// share says how many rows are of which origin.
func share(rows [][]string) string {
	count := map[Kind]int{}
	all := 0
	for _, r := range rows {
		n, _ := strconv.Atoi(r[4]) // written by this package
		kind := Kind(r[0])
		if kind == Rival || kind == LeftOut {
			continue
		}
		count[kind] += n
		all += n
	}
	exact := ""
	if n := count[Exact]; n > 0 {
		exact = fmt.Sprintf("%d with exact solutions, ", n)
	}
	return fmt.Sprintf("%d comparisons: %d with rows of outside origin, %s%d with outside rows the model was fitted to, "+
		"%d with outside rows of doubtful worth, %d regression (%.0f %%).\n",
		all, count[Outside], exact, count[Fitted], count[Doubtful], count[Regression],
		100*float64(count[Regression])/float64(max(all, 1)))
}

// section prints the rows of one kind as a table.
func section(b *strings.Builder, title string, rows [][]string, kind Kind) {
	var chosen [][]string
	for _, r := range rows {
		if Kind(r[0]) == kind {
			chosen = append(chosen, r)
		}
	}
	if len(chosen) == 0 {
		return
	}
	fmt.Fprintf(b, "\n### %s\n\n", title)
	if kind == LeftOut {
		b.WriteString("| model | quantity | rows | what | sources | why |\n| --- | --- | --- | --- | --- | --- |\n")
		for _, r := range chosen {
			line(b, r[1], r[2], r[4], r[3], r[11], r[12])
		}
		return
	}
	b.WriteString("| model | quantity | range | rows | worst | at | rms | tolerance |")
	if kind == Rival {
		b.WriteString(" rows broken |")
	}
	b.WriteString(" sources | why |\n|" + strings.Repeat(" --- |", 10))
	if kind == Rival {
		b.WriteString(" --- |")
	}
	b.WriteString("\n")
	for _, r := range chosen {
		cells := []string{r[1], r[2], r[3], r[4], r[5] + " " + r[9], r[6], r[7] + " " + r[9], r[8] + " " + r[9]}
		if kind == Rival {
			cells = append(cells, r[10])
		}
		line(b, append(cells, r[11], r[12])...)
	}
}

func line(b *strings.Builder, cells ...string) {
	for i, c := range cells {
		cells[i] = strings.ReplaceAll(strings.TrimSpace(c), "|", "\\|")
	}
	b.WriteString("| " + strings.Join(cells, " | ") + " |\n")
}

// readSummary reads a package's summary without its header.
func readSummary(file string) ([][]string, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if len(rows) == 0 || !slices.Equal(rows[0], header()) {
		return nil, fmt.Errorf("%s: the header is not that of a summary", file)
	}
	return rows[1:], nil
}
