package fakediscord

import (
	"strconv"
	"strings"
)

// The rules here are those of Discord's documentation that its OpenAPI
// description does not hold, and, with codes that begin with HOUSE_, our own.
// A limit on which both agree is checked here too where the count differs:
// the description counts code points, the rules UTF-16 units.
const (
	contentMax     = 2000
	embedsMax      = 10
	embedTotalMax  = 6000
	embedTitleMax  = 256
	embedTextMax   = 4096
	embedFieldsMax = 25
	fieldNameMax   = 256
	fieldValueMax  = 1024
	footerMax      = 2048
	authorMax      = 256
	rowsMax        = 5
	rowButtonsMax  = 5
	customIDMax    = 100
	labelMax       = 80
	modalTitleMax  = 45
	modalPartsMax  = 5
	modalLabelMax  = 45
	modalValueMax  = 4000
	altTextMax     = 1024
	choicesMax     = 25
	choiceNameMax  = 100
	choiceValueMax = 100
)

// ruleProblems holds a decoded body against the rules.
func ruleProblems(v any, files []upload, f form, c *call, known callContext) []problem {
	var out []problem
	n := root(v, &out)
	switch f {
	case formCommands:
		commandRules(n, c.params["guild_id"] == "")
	case formCallback:
		callbackRules(n, files, known)
	case formFollowup:
		newMessageRules(n, files, FlagSuppressEmbeds|FlagEphemeral|FlagSuppressNotifications|FlagComponentsV2)
	case formPost:
		newMessageRules(n, files, FlagSuppressEmbeds|FlagSuppressNotifications|FlagComponentsV2)
		if n.key("enforce_nonce").truth() && (!n.key("nonce").has || n.key("nonce").null()) {
			n.key("nonce").bad("NONCE_MISSING", "enforce_nonce needs a nonce.")
		}
	case formEdit:
		editRules(n, files, known)
	}
	return out
}

func callbackRules(n node, files []upload, known callContext) {
	kind, data := int(n.key("type").whole()), n.key("data")
	ia := Interaction{Type: known.interaction}
	if known.onMessage {
		ia.source = &stored{}
	}
	if known.interaction != 0 && !ia.allows(kind) {
		n.key("type").bad("CALLBACK_TYPE", "Callback type %d cannot answer an interaction of type %d.", kind, known.interaction)
		return
	}
	if len(files) > 0 && kind != CallbackMessage && kind != CallbackUpdate {
		n.bad("CALLBACK_FILES", "Callback type %d takes no files.", kind)
	}
	switch kind {
	case CallbackMessage:
		if !data.isObject() {
			data.bad("CALLBACK_DATA", "Callback type 4 needs data.")
			return
		}
		newMessageRules(data, files, FlagSuppressEmbeds|FlagEphemeral|FlagSuppressNotifications|FlagComponentsV2)
	case CallbackDeferMessage:
		for key := range object(data) {
			if key != "flags" {
				data.key(key).bad("DEFER_DATA", "A deferred message takes flags and nothing else.")
			}
		}
		flagRules(data, FlagEphemeral)
	case CallbackDeferUpdate:
		if len(object(data)) > 0 {
			data.bad("DEFER_DATA", "A deferred update takes no data.")
		}
	case CallbackUpdate:
		if data.isObject() {
			editRules(data, files, known)
		}
	case CallbackAutocomplete:
		choiceRules(data, known.focused)
	case CallbackModal:
		modalRules(data)
	}
}

func object(n node) map[string]any { m, _ := n.v.(map[string]any); return m }

func newMessageRules(n node, files []upload, flags int64) {
	attachmentRules(n, files, nil)
	messageRules(n, files, nil)
	flagRules(n, flags)
	visible := !blank(n.key("content").text()) || len(files) > 0
	for _, key := range []string{"embeds", "components"} {
		visible = visible || len(n.key(key).items()) > 0
	}
	if !visible {
		n.bad("EMPTY_MESSAGE", "Cannot send an empty message.")
	}
}

// editRules are those of a change: what is absent stays. Privacy was decided
// with the first answer.
func editRules(n node, files []upload, known callContext) {
	attachmentRules(n, files, known.files)
	messageRules(n, files, known.files)
	flagRules(n, FlagSuppressEmbeds|FlagComponentsV2)
}

func flagRules(n node, allowed int64) {
	if f := n.key("flags"); f.whole()&^allowed != 0 {
		f.bad("MESSAGE_FLAGS", "Flags %d cannot be set here; %d can.", f.whole()&^allowed, allowed)
	}
}

func messageRules(n node, files []upload, had []File) {
	for _, key := range []string{"content", "embeds", "components", "attachments"} {
		if k := n.key(key); k.null() {
			k.bad("HOUSE_NULL", "null clears %s without saying so: leave it out, or clear it openly.", key)
		}
	}
	n.key("content").length(0, contentMax)

	mentions := n.key("allowed_mentions")
	if parse := mentions.key("parse"); !parse.isList() || len(parse.items()) > 0 {
		mentions.bad("HOUSE_ALLOWED_MENTIONS", `Every message carries allowed_mentions with {"parse": []}.`)
	}
	embedRules(n.key("embeds"), files, had)
	if n.key("flags").whole()&FlagComponentsV2 != 0 {
		for _, key := range []string{"content", "embeds", "poll"} {
			if k := n.key(key); k.has {
				k.bad("COMPONENTS_V2", "A message of components cannot have %s.", key)
			}
		}
	}
	componentRules(n.key("components"), n.key("flags").whole()&FlagComponentsV2 != 0)
}

// attachmentRules keep the list of attachments and the parts of the body in
// step. Every file has alt text.
func attachmentRules(n node, files []upload, had []File) {
	list := n.key("attachments")
	if len(files) > 0 && !list.isList() {
		list.bad("ATTACHMENTS_MISSING", "Files are listed in attachments, and in an edit also those that are kept.")
		return
	}
	if len(list.items()) > filesMax {
		list.bad("ATTACHMENTS_COUNT", "At most %d attachments.", filesMax)
	}
	listed := map[string]bool{}
	for _, a := range list.items() {
		id := a.key("id").text()
		if num, is := a.key("id").number(); is {
			id = strconv.FormatFloat(num, 'f', -1, 64)
		}
		if listed[id] {
			a.key("id").bad("ATTACHMENT_TWICE", "Attachment %s is listed twice.", id)
		}
		listed[id] = true
		a.key("description").length(0, altTextMax)
		up, old := fileNumbered(files, id), fileKept(had, id)
		switch {
		case up == nil && old == nil:
			a.key("id").bad("ATTACHMENT_UNKNOWN", "Attachment %s is neither a part of this body nor on the message.", id)
		case up != nil:
			if name := a.key("filename"); name.has && name.text() != up.name {
				name.bad("ATTACHMENT_NAME", "The part is named %q.", up.name)
			}
			if blank(a.key("description").text()) {
				a.key("description").bad("HOUSE_ALT_TEXT", "Every picture has a description.")
			}
		}
	}
	for _, f := range files {
		if !listed[strconv.Itoa(f.n)] {
			list.bad("ATTACHMENT_UNLISTED", "files[%d] is not listed in attachments.", f.n)
		}
	}
}

func fileNumbered(files []upload, id string) *upload {
	for i := range files {
		if strconv.Itoa(files[i].n) == id {
			return &files[i]
		}
	}
	return nil
}

func fileKept(had []File, id string) *File {
	for i := range had {
		if had[i].ID == id {
			return &had[i]
		}
	}
	return nil
}

func embedRules(list node, files []upload, had []File) {
	if len(list.items()) > embedsMax {
		list.bad("EMBEDS_COUNT", "At most %d embeds.", embedsMax)
	}
	if len(list.items()) > 1 {
		list.bad("HOUSE_ONE_EMBED", "At most one embed: the content carries the answer.")
	}
	total := 0
	count := func(n node, high int) {
		n.length(0, high)
		total += units(n.text())
	}
	for _, e := range list.items() {
		count(e.key("title"), embedTitleMax)
		count(e.key("description"), embedTextMax)
		count(e.key("footer").key("text"), footerMax)
		count(e.key("author").key("name"), authorMax)
		fields := e.key("fields")
		if len(fields.items()) > embedFieldsMax {
			fields.bad("EMBED_FIELDS_COUNT", "At most %d fields.", embedFieldsMax)
		}
		for _, f := range fields.items() {
			count(f.key("name"), fieldNameMax)
			count(f.key("value"), fieldValueMax)
			for _, key := range []string{"name", "value"} {
				if blank(f.key(key).text()) {
					f.key(key).bad("BASE_TYPE_REQUIRED", "This field is required: a field has a name and a value, never empty.")
				}
			}
		}
		seen := false
		for _, key := range []string{"title", "description", "fields", "image", "thumbnail", "footer", "author"} {
			k := e.key(key)
			seen = seen || !blank(k.text()) || len(k.items()) > 0 || k.isObject()
		}
		if !seen {
			e.bad("EMBED_EMPTY", "An embed has something to show.")
		}
		for _, key := range []string{"image", "thumbnail"} {
			imageRules(e.key(key).key("url"), files, had)
		}
	}
	if total > embedTotalMax {
		list.bad("MAX_EMBED_SIZE_EXCEEDED", "All embeds together have %d characters, more than %d.", total, embedTotalMax)
	}
}

func imageRules(url node, files []upload, had []File) {
	if !url.has {
		return
	}
	name, attached := strings.CutPrefix(url.text(), "attachment://")
	switch {
	case !attached:
		if !strings.HasPrefix(url.text(), "https://") && !strings.HasPrefix(url.text(), "http://") {
			url.bad("URL_TYPE_INVALID_SCHEME", "Scheme must be one of http, https, attachment.")
		}
		return
	}
	for _, f := range files {
		if f.name == name {
			return
		}
	}
	for _, f := range had {
		if f.Name == name {
			return
		}
	}
	url.bad("ATTACHMENT_NOT_FOUND", "No attachment is named %q.", name)
}

func componentRules(list node, v2 bool) {
	if !v2 {
		if len(list.items()) > rowsMax {
			list.bad("COMPONENT_ROWS", "At most %d rows.", rowsMax)
		}
		for _, row := range list.items() {
			if row.key("type").whole() != ComponentRow {
				row.key("type").bad("COMPONENT_TYPE", "Without the components flag only rows stand here.")
			}
		}
	}
	seen := map[string]bool{}
	var visit func(node)
	visit = func(c node) {
		id := c.key("custom_id")
		id.length(1, customIDMax)
		unique(seen, id, "COMPONENT_CUSTOM_ID_DUPLICATED")
		switch c.key("type").whole() {
		case ComponentRow:
			rowRules(c)
		case ComponentButton:
			buttonRules(c)
		case ComponentSelect:
			selectRules(c)
		}
		for _, child := range c.key("components").items() {
			visit(child)
		}
	}
	for _, c := range list.items() {
		visit(c)
	}
}

func rowRules(row node) {
	children := row.key("components").items()
	if len(children) < 1 || len(children) > rowButtonsMax {
		row.key("components").bad("COMPONENT_ROW_WIDTH", "A row has 1 to %d buttons, or one menu.", rowButtonsMax)
	}
	for _, c := range children {
		if c.key("type").whole() != ComponentButton && len(children) > 1 {
			row.key("components").bad("COMPONENT_ROW_WIDTH", "A menu stands alone in its row.")
			break
		}
	}
}

func buttonRules(b node) {
	const link, premium = 5, 6
	b.key("label").length(0, labelMax)
	if b.key("label").text() == "" && !b.key("emoji").isObject() && b.key("style").whole() != premium {
		b.bad("BUTTON_EMPTY", "A button has a label or an emoji.")
	}
	hasURL, hasID := b.key("url").text() != "", b.key("custom_id").text() != ""
	isLink := b.key("style").whole() == link
	if isLink != hasURL || isLink == hasID && b.key("style").whole() != premium {
		b.bad("BUTTON_TARGET", "A link has a url and no custom_id, any other button a custom_id and no url.")
	}
}

func selectRules(m node) {
	options := m.key("options")
	seen := map[string]bool{}
	for _, o := range options.items() {
		o.key("label").length(1, 100)
		o.key("value").length(1, 100)
		o.key("description").length(0, 100)
		unique(seen, o.key("value"), "SELECT_OPTION_VALUE_DUPLICATED")
	}
	low, high := int64(1), int64(1)
	if n := m.key("min_values"); n.has {
		low = n.whole()
	}
	if n := m.key("max_values"); n.has {
		high = n.whole()
	}
	if low > high || high > int64(len(options.items())) {
		m.bad("SELECT_RANGE", "min_values is at most max_values, which is at most the number of options.")
	}
}

// choiceRules are those of suggestions; focused is the type of the option that
// they complete, 0 if unknown.
func choiceRules(data node, focused int) {
	list := data.key("choices")
	if !list.isList() {
		list.bad("CHOICES_MISSING", "choices is a list, [] when there is nothing to suggest.")
		return
	}
	if len(list.items()) > choicesMax {
		list.bad("CHOICES_COUNT", "At most %d choices.", choicesMax)
	}
	for _, c := range list.items() {
		choiceNameRules(c)
		choiceValueRules(c.key("value"), focused)
	}
}

func choiceNameRules(c node) {
	name := c.key("name")
	name.length(1, choiceNameMax)
	if name.isText() && blank(name.text()) {
		name.bad("BASE_TYPE_REQUIRED", "A choice has a name that can be read.")
	}
}

func choiceValueRules(value node, kind int) {
	value.length(0, choiceValueMax)
	_, isNumber := value.number()
	whole := isNumber && !strings.ContainsAny(numeral(value), ".eE")
	switch {
	case kind == optString && !value.isText(), kind == optInteger && !whole, kind == optNumber && !isNumber:
		value.bad("CHOICE_VALUE_TYPE", "The value is not of the option's type.")
	}
}

func modalRules(data node) {
	data.key("title").length(1, modalTitleMax)
	data.key("custom_id").length(1, customIDMax)
	parts := data.key("components")
	if n := len(parts.items()); n < 1 || n > modalPartsMax {
		parts.bad("MODAL_PARTS", "A form has 1 to %d parts.", modalPartsMax)
	}
	seen := map[string]bool{}
	for _, p := range parts.items() {
		switch p.key("type").whole() {
		case ComponentRow:
			fields := p.key("components").items()
			if len(fields) != 1 || fields[0].key("type").whole() != ComponentTextInput {
				p.key("components").bad("MODAL_ROW", "A row of a form has exactly one text field.")
			}
			for _, f := range fields {
				if f.key("label").text() == "" {
					f.key("label").bad("BASE_TYPE_REQUIRED", "A text field in a row has a label.")
				}
				f.key("label").length(1, modalLabelMax)
				fieldRules(f, seen)
			}
		case ComponentLabel:
			p.key("label").length(1, modalLabelMax)
			f := p.key("component")
			if f.key("label").has {
				f.key("label").bad("MODAL_LABEL_TWICE", "The label around the field names it.")
			}
			fieldRules(f, seen)
		}
	}
}

func fieldRules(f node, seen map[string]bool) {
	id := f.key("custom_id")
	id.length(1, customIDMax)
	unique(seen, id, "COMPONENT_CUSTOM_ID_DUPLICATED")
	if f.key("type").whole() != ComponentTextInput {
		return
	}
	f.key("placeholder").length(0, 100)
	value := f.key("value")
	value.length(0, modalValueMax)
	low, high := f.key("min_length").whole(), int64(modalValueMax)
	if n := f.key("max_length"); n.has && !n.null() {
		high = n.whole()
	}
	if low > high {
		f.key("min_length").bad("TEXT_INPUT_RANGE", "min_length is at most max_length.")
	}
	if n := int64(units(value.text())); n > 0 && (n < low || n > high) {
		value.bad("TEXT_INPUT_VALUE", "The value has %d characters, the field takes %d to %d.", n, low, high)
	}
}
