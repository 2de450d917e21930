package web

import "html/template"

// strokes are the icons, drawn on 24 by 24.
var strokes = map[string]string{
	"mark":   `<circle cx="12" cy="12" r="9"/><path d="M12 12V3M12 12l7.800 4.500M12 12l-7.800 4.500"/><circle cx="12" cy="12" r="1.500"/>`,
	"camera": `<path d="M3 8h4l2-3h6l2 3h4v11H3z"/><circle cx="12" cy="13" r="3.500"/>`,
	"check":  `<path d="M4 12.500l5.500 5.500L20 6.500"/>`,
	"ring":   `<circle cx="12" cy="12" r="9.500"/><path d="M7 12.500l3.500 3.500L17 9"/>`,
	"low":    `<circle cx="12" cy="12" r="9.500"/><path d="M12 6.500v10M7.500 12.500l4.500 4.500 4.500-4.500"/>`,
	"high":   `<circle cx="12" cy="12" r="9.500"/><path d="M12 17.500v-10M7.500 11.500L12 7l4.500 4.500"/>`,
	"doubt":  `<circle cx="12" cy="12" r="9.500"/><path d="M9 9.500a3 3 0 1 1 4.200 2.700c-.900.500-1.200 1-1.200 2M12 17.400v.1"/>`,
	"stop":   `<path d="M12 3l10 18H2z"/><path d="M12 10v5M12 18v.1"/>`,
	"hand":   `<path d="M12 3l10 18H2z"/><path d="M12 10v5M12 18v.1"/>`,
	"up":     `<path d="M12 19V5M6 11l6-6 6 6"/>`,
	"plus":   `<path d="M12 5v14M5 12h14"/>`,
	"pencil": `<path d="M4 20l1-5L16 4l4 4L9 19z"/>`,
	"person": `<circle cx="12" cy="8" r="4"/><path d="M4 21c1-5 4-7 8-7s7 2 8 7"/>`,
	"phone":  `<rect x="7" y="2.500" width="10" height="19" rx="2"/><path d="M11 18.500h2"/>`,
	"page":   `<path d="M6 3h8l4 4v14H6z"/><path d="M9 12h6M9 16h6"/>`,
	"scales": `<path d="M12 4v16M7 20h10M4 7h16M4 7l-2 6h5zM20 7l-3 6h5z"/>`,
	"clock":  `<circle cx="12" cy="12" r="9"/><path d="M12 7v5l3.500 2"/>`,
	"undo":   `<path d="M9 5L4 10l5 5M4 10h10a6 6 0 0 1 0 12h-3"/>`,
	"dot":    `<circle cx="12" cy="12" r="7" fill="currentColor"/>`,
}

// icon is a drawing that says nothing to a screen reader: words stand beside it.
func icon(name string) template.HTML {
	return template.HTML(`<svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false">` + strokes[name] + `</svg>`) // from the list above
}
