package report

import (
	"slices"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// gap is the space between two columns.
const gap = 2

// column is a column of a grid.
type column struct {
	head string
	// right puts numbers under each other.
	right bool
	// shrinks lets the column be broken into lines when the grid is wider than the page.
	shrinks bool
}

// grid writes rows under their heads: one rule under the heads, space between the columns, words as they are written.
func (p *page) grid(columns []column, rows [][]string) {
	t := table.NewWriter()
	t.SetStyle(table.Style{
		Box:     table.BoxStyle{MiddleHorizontal: "─", MiddleSeparator: "─", PaddingRight: "  "},
		Format:  table.FormatOptions{Header: text.FormatDefault, Row: text.FormatDefault, HeaderVAlign: text.VAlignBottom},
		Options: table.Options{SeparateHeader: true},
	})
	t.SuppressTrailingSpaces()
	head := make(table.Row, len(columns))
	for i, c := range columns {
		head[i] = c.head
	}
	t.AppendHeader(head)
	for _, cells := range rows {
		row := make(table.Row, len(cells))
		for i, cell := range cells {
			row[i] = cell
		}
		t.AppendRow(row)
	}
	t.SetColumnConfigs(p.configs(columns, rows))
	p.line(t.Render())
}

// configs aligns the columns and gives those that shrink what the others leave of the page.
func (p *page) configs(columns []column, rows [][]string) []table.ColumnConfig {
	configs := make([]table.ColumnConfig, len(columns))
	needs := make([]int, len(columns))
	left := p.width + gap
	var shrinking []int
	for i, c := range columns {
		configs[i].Number = i + 1
		if c.right {
			configs[i].Align, configs[i].AlignHeader = text.AlignRight, text.AlignRight
		}
		needs[i] = widest(i, columns, rows)
		if c.shrinks {
			shrinking = append(shrinking, i)
			continue
		}
		left -= needs[i] + gap
	}
	// Who needs least is served first, and leaves the more to the others.
	slices.SortStableFunc(shrinking, func(a, b int) int { return needs[a] - needs[b] })
	for k, i := range shrinking {
		const narrowestColumn = 12
		width := min(max(left/(len(shrinking)-k)-gap, narrowestColumn), needs[i])
		configs[i].WidthMax, configs[i].WidthMaxEnforcer = width, text.WrapSoft
		left -= width + gap
	}
	return configs
}

// widest is the width of the i-th column when nothing is broken.
func widest(i int, columns []column, rows [][]string) int {
	width := text.LongestLineLen(columns[i].head)
	for _, row := range rows {
		width = max(width, text.StringWidth(row[i]))
	}
	return width
}
