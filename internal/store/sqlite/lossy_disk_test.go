//go:build unix

package sqlite_test

import (
	"bytes"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
)

// disk is what a power cut leaves of files: what was synced surely, and of what was
// not, anything. It is fed the changes of a recording in their order.
//
// What it takes for granted is what SQLite does of the systems it runs on: a sync
// that returns has put a file's content on the disk, and the first one of a new log
// its name as well (the layer for unix syncs the folder with it); bytes that are not
// written to do not change (https://www.sqlite.org/psow.html).
type disk map[string]*onDisk

// onDisk is one name.
type onDisk struct {
	was, now *content // was: deleted or replaced, but the folder is not synced
}

type content struct {
	data  []byte // synced
	named bool   // the name itself is synced
	since []change
}

// diskOf is a disk with some files, all synced.
func diskOf(t *testing.T, paths ...string) disk {
	t.Helper()
	d := disk{}
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		d[p] = &onDisk{now: &content{data: data, named: true}}
	}
	return d
}

func (d disk) apply(c change) {
	if c.Kind == told {
		return
	}
	f := d[c.File]
	if f == nil {
		f = &onDisk{}
		d[c.File] = f
	}
	switch c.Kind {
	case made:
		f.now = &content{}
	case gone:
		if f.was == nil && f.now != nil && f.now.named {
			f.was = f.now
		}
		if f.now = nil; c.Sure {
			f.was = nil
		}
	case synced:
		for _, x := range f.now.since {
			f.now.data = written(f.now.data, x)
		}
		f.now.since, f.now.named, f.was = nil, true, nil
	default:
		f.now.since = append(f.now.since, c)
	}
}

// written is a file's content after a change.
func written(data []byte, c change) []byte {
	end := c.Off + int64(len(c.Data))
	if c.Kind == cut {
		end = c.Off
	}
	if int64(len(data)) < end {
		data = append(data, make([]byte, end-int64(len(data)))...)
	}
	if c.Kind == cut {
		return data[:end]
	}
	copy(data[c.Off:], c.Data)
	return data
}

// loss is how a disk treats what was not synced.
type loss string

const (
	allLost  loss = "nothing"  // nothing of it is there
	allKept  loss = "all"      // all of it is, as after kill -9
	inOrder  loss = "in order" // what came first is there, the last of it cut off at some byte
	shuffled loss = "shuffled" // some writes are, others not, in any order
	torn     loss = "torn"     // each sector for itself, one of them cut off at some byte
	rubbish  loss = "rubbish"  // and some sectors hold neither the old nor the new
)

var losses = []loss{allLost, allKept, inOrder, shuffled, torn, rubbish}

// sector is what a disk writes whole, if it writes anything whole.
const sector = 512

// after is what a power cut now leaves of each file.
func (d disk) after(how loss, rnd *rand.Rand) map[string][]byte {
	left := map[string][]byte{}
	for _, name := range slices.Sorted(maps.Keys(d)) {
		f := d[name]
		now := f.now
		if f.was != nil && (how == allLost || how != allKept && rnd.IntN(2) == 0) {
			now = f.was
		}
		if now == nil || !now.named && (how == allLost || how != allKept && rnd.IntN(2) == 0) {
			continue
		}
		data := bytes.Clone(now.data)
		first := rnd.IntN(len(now.since) + 1)
		for i, c := range now.since {
			switch how {
			case allKept:
				data = written(data, c)
			case inOrder:
				if i == first && c.Kind == wrote {
					c.Data = c.Data[:rnd.IntN(len(c.Data)+1)]
				}
				if i <= first {
					data = written(data, c)
				}
			case shuffled:
				if rnd.IntN(2) == 0 {
					data = written(data, c)
				}
			case torn, rubbish:
				data = tear(data, c, how, rnd)
			}
		}
		left[name] = data
	}
	return left
}

// tear writes each sector of a change, or not, or a part of it.
func tear(data []byte, c change, how loss, rnd *rand.Rand) []byte {
	if c.Kind == cut {
		if rnd.IntN(2) == 0 {
			return written(data, c)
		}
		return data
	}
	for off := int64(0); off < int64(len(c.Data)); {
		end := min(int64(len(c.Data)), (c.Off+off)/sector*sector+sector-c.Off)
		part := change{Kind: wrote, Off: c.Off + off, Data: bytes.Clone(c.Data[off:end])}
		off = end
		switch rnd.IntN(8) {
		case 0, 1, 2:
			continue
		case 3:
			part.Data = part.Data[:rnd.IntN(len(part.Data)+1)]
		case 4:
			if how == rubbish {
				for i := range part.Data {
					part.Data[i] = byte(rnd.Uint32())
				}
			}
		}
		data = written(data, part)
	}
	return data
}
