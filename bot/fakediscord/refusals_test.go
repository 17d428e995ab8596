package fakediscord_test

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"shimwright/bot/fakediscord"
)

// Where a payload of the tables goes.
const (
	toCommand   = "callback of a command"
	toPress     = "callback of a button"
	toSubmit    = "callback of a form"
	toComplete  = "callback of a completion"
	toEdit      = "edit of an answer"
	toFollowup  = "follow-up"
	toPost      = "channel message"
	toGlobal    = "global commands"
	toGuild     = "commands of a server"
	toNowhere   = "a route that does not exist"
	toDeleteCmd = "a method that is not served"
)

type payload struct {
	name  string
	rule  string // the one rule that it breaks, "" for a payload to accept
	where string
	body  string
	kind  string // content type, application/json if empty
	agent string
}

const (
	quiet    = `"allowed_mentions":{"parse":[]}`
	boundary = "xx"
	mixed    = `multipart/form-data; boundary="xx"`
)

func msg(fields string) string { return `{"type":4,"data":{` + quiet + `,` + fields + `}}` }

// multi writes a multipart body: pairs of a part's disposition and its text.
func multi(parts ...string) string {
	var b strings.Builder
	for i := 0; i < len(parts); i += 2 {
		fmt.Fprintf(&b, "--%s\r\nContent-Disposition: form-data; %s\r\n\r\n%s\r\n", boundary, parts[i], parts[i+1])
	}
	return b.String() + "--" + boundary + "--\r\n"
}

const (
	partJSON = `name="payload_json"`
	partFile = `name="files[0]"; filename="stack.png"`
)

func withFile(attachments string) string {
	return multi(partJSON, msg(`"content":"x","attachments":`+attachments), partFile, "PNG")
}

func repeat(n int, format string) string {
	list := make([]string, n)
	for i := range list {
		list[i] = strings.ReplaceAll(format, "#", fmt.Sprint(i))
	}
	return strings.Join(list, ",")
}

func text(n int) string { return strings.Repeat("a", n) }

func row(buttons string) string {
	return msg(`"content":"x","components":[{"type":1,"components":[` + buttons + `]}]`)
}

func modal(components string) string {
	return `{"type":9,"data":{"custom_id":"m","title":"Measured","components":[` + components + `]}}`
}

func field(more string) string {
	return `{"type":1,"components":[{"type":4,"custom_id":"w","style":1,"label":"Width"` + more + `}]}`
}

func choices(list string) string { return `{"type":8,"data":{"choices":[` + list + `]}}` }

func commands(more string) string {
	return `[{"name":"stack","description":"Find a stack"` + more + `}]`
}

func options(list string) string { return commands(`,"options":[` + list + `]`) }

func option(name, more string) string {
	return `{"type":3,"name":"` + name + `","description":"d"` + more + `}`
}

const png = `[{"id":"0","description":"The stack, outside in"}]`

var refused = []payload{
	{"mentions not silenced", "HOUSE_ALLOWED_MENTIONS", toCommand, `{"type":4,"data":{"content":"x"}}`, "", ""},
	{"mentions parsed", "HOUSE_ALLOWED_MENTIONS", toPost, `{"content":"x","allowed_mentions":{"parse":["users"]}}`, "", ""},
	{"edit with mentions", "HOUSE_ALLOWED_MENTIONS", toEdit, `{"content":"x"}`, "", ""},
	{"content too long", "BASE_TYPE_BAD_LENGTH", toCommand, msg(`"content":"` + text(2001) + `"`), "", ""},
	{"content too long for Discord without Nitro", "BASE_TYPE_BAD_LENGTH", toPost, `{` + quiet + `,"content":"` + text(2001) + `"}`, "", ""},
	// 1001 code points outside the first plane are 2002 UTF-16 units.
	{"content too long in UTF-16", "BASE_TYPE_BAD_LENGTH", toCommand, msg(`"content":"` + strings.Repeat("𝛑", 1001) + `"`), "", ""},
	{"empty message", "EMPTY_MESSAGE", toCommand, msg(`"content":" "`), "", ""},
	{"edit that leaves nothing", "EMPTY_MESSAGE", toEdit, `{` + quiet + `,"content":""}`, "", ""},
	{"update that clears by null", "HOUSE_NULL", toPress, `{"type":7,"data":{` + quiet + `,"content":"x","embeds":null}}`, "", ""},
	{"eleven embeds", "EMBEDS_COUNT HOUSE_ONE_EMBED", toCommand, msg(`"embeds":[` + repeat(11, `{"title":"t"}`) + `]`), "", ""},
	{"two embeds", "HOUSE_ONE_EMBED", toCommand, msg(`"embeds":[{"title":"t"},{"title":"t"}]`), "", ""},
	{"embed title", "BASE_TYPE_BAD_LENGTH", toCommand, msg(`"embeds":[{"title":"` + text(257) + `"}]`), "", ""},
	{"embed description", "BASE_TYPE_BAD_LENGTH", toCommand, msg(`"embeds":[{"description":"` + text(4097) + `"}]`), "", ""},
	{"embed footer", "BASE_TYPE_BAD_LENGTH", toCommand, msg(`"embeds":[{"footer":{"text":"` + text(2049) + `"}}]`), "", ""},
	{"embed author", "BASE_TYPE_BAD_LENGTH", toCommand, msg(`"embeds":[{"author":{"name":"` + text(257) + `"}}]`), "", ""},
	{"26 fields", "EMBED_FIELDS_COUNT", toCommand, msg(`"embeds":[{"fields":[` + repeat(26, `{"name":"n","value":"v"}`) + `]}]`), "", ""},
	{"field name", "BASE_TYPE_BAD_LENGTH", toCommand, msg(`"embeds":[{"fields":[{"name":"` + text(257) + `","value":"v"}]}]`), "", ""},
	{"field value", "BASE_TYPE_BAD_LENGTH", toCommand, msg(`"embeds":[{"fields":[{"name":"n","value":"` + text(1025) + `"}]}]`), "", ""},
	{"empty field value", "BASE_TYPE_REQUIRED", toCommand, msg(`"embeds":[{"fields":[{"name":"n","value":" "}]}]`), "", ""},
	{"empty embed", "EMBED_EMPTY", toCommand, msg(`"embeds":[{}]`), "", ""},
	// 4096 + 1905 = 6001
	{"embeds over 6000", "MAX_EMBED_SIZE_EXCEEDED", toCommand, msg(`"embeds":[{"description":"` + text(4096) + `","footer":{"text":"` + text(1905) + `"}}]`), "", ""},
	{"embed image by file scheme", "URL_TYPE_INVALID_SCHEME", toCommand, msg(`"embeds":[{"image":{"url":"file:///x.png"}}]`), "", ""},
	{"embed image not attached", "ATTACHMENT_NOT_FOUND", toCommand, msg(`"embeds":[{"image":{"url":"attachment://x.png"}}]`), "", ""},
	{"six rows", "COMPONENT_ROWS", toCommand, msg(`"content":"x","components":[` + repeat(6, `{"type":1,"components":[{"type":2,"style":1,"label":"b","custom_id":"#"}]}`) + `]`), "", ""},
	{"six buttons", "COMPONENT_ROW_WIDTH", toCommand, row(repeat(6, `{"type":2,"style":1,"label":"b","custom_id":"#"}`)), "", ""},
	{"no buttons", "COMPONENT_ROW_WIDTH", toCommand, row(""), "", ""},
	{"menu beside a button", "COMPONENT_ROW_WIDTH", toCommand, row(`{"type":2,"style":1,"label":"b","custom_id":"1"},{"type":3,"custom_id":"2","options":[{"label":"a","value":"a"}]}`), "", ""},
	{"same custom_id", "COMPONENT_CUSTOM_ID_DUPLICATED", toCommand, row(repeat(2, `{"type":2,"style":1,"label":"b","custom_id":"same"}`)), "", ""},
	{"custom_id too long", "BASE_TYPE_BAD_LENGTH", toCommand, row(`{"type":2,"style":1,"label":"b","custom_id":"` + text(101) + `"}`), "", ""},
	{"custom_id too long in UTF-16", "BASE_TYPE_BAD_LENGTH", toCommand, row(`{"type":2,"style":1,"label":"b","custom_id":"` + strings.Repeat("𝛑", 51) + `"}`), "", ""},
	{"button label", "BASE_TYPE_BAD_LENGTH", toCommand, row(`{"type":2,"style":1,"label":"` + text(81) + `","custom_id":"1"}`), "", ""},
	{"button with nothing on it", "BUTTON_EMPTY", toCommand, row(`{"type":2,"style":1,"custom_id":"1"}`), "", ""},
	{"button that does nothing", "BUTTON_TARGET", toCommand, row(`{"type":2,"style":1,"label":"b"}`), "", ""},
	{"link with a custom_id", "BUTTON_TARGET", toCommand, row(`{"type":2,"style":5,"label":"b","custom_id":"1","url":"https://example.invalid"}`), "", ""},
	{"bare button", "COMPONENT_TYPE", toCommand, msg(`"content":"x","components":[{"type":10,"content":"t"}]`), "", ""},
	{"content beside components v2", "COMPONENTS_V2", toCommand, msg(`"flags":32768,"content":"x","components":[{"type":10,"content":"t"}]`), "", ""},
	{"same option twice", "SELECT_OPTION_VALUE_DUPLICATED", toCommand, row(`{"type":3,"custom_id":"1","options":[{"label":"a","value":"v"},{"label":"b","value":"v"}]}`), "", ""},
	{"more picks than options", "SELECT_RANGE", toCommand, row(`{"type":3,"custom_id":"1","max_values":2,"options":[{"label":"a","value":"v"}]}`), "", ""},

	{"flag of someone else", "MESSAGE_FLAGS", toCommand, msg(`"content":"x","flags":2`), "", ""},
	{"defer with another flag", "MESSAGE_FLAGS", toCommand, `{"type":5,"data":{"flags":4}}`, "", ""},
	{"defer with content", "DEFER_DATA", toCommand, `{"type":5,"data":{"content":"x"}}`, "", ""},
	{"deferred update with content", "DEFER_DATA", toPress, `{"type":6,"data":{"content":"x"}}`, "", ""},
	{"privacy in an edit", "MESSAGE_FLAGS", toEdit, `{` + quiet + `,"content":"x","flags":64}`, "", ""},
	{"private channel message", "MESSAGE_FLAGS", toPost, `{` + quiet + `,"content":"x","flags":64}`, "", ""},
	{"enforced nonce that is absent", "NONCE_MISSING", toPost, `{` + quiet + `,"content":"x","enforce_nonce":true}`, "", ""},
	{"answer without data", "CALLBACK_DATA", toCommand, `{"type":4}`, "", ""},
	{"files in a form", "CALLBACK_FILES", toCommand, multi(partJSON, modal(field("")), partFile, "PNG"), mixed, ""},

	{"pong to a command", "CALLBACK_TYPE", toCommand, `{"type":1}`, "", ""},
	{"update of a command", "CALLBACK_TYPE", toCommand, `{"type":7,"data":{` + quiet + `,"content":"x"}}`, "", ""},
	{"choices for a command", "CALLBACK_TYPE", toCommand, choices(""), "", ""},
	{"message for a completion", "CALLBACK_TYPE", toComplete, msg(`"content":"x"`), "", ""},
	{"deferred completion", "CALLBACK_TYPE", toComplete, `{"type":5}`, "", ""},
	{"form after a form", "CALLBACK_TYPE", toSubmit, modal(field("")), "", ""},
	{"callback type that does not exist", "CALLBACK_TYPE", toCommand, `{"type":3}`, "", ""},

	{"no list of choices", "CHOICES_MISSING", toComplete, `{"type":8,"data":{}}`, "", ""},
	{"26 choices", "CHOICES_COUNT", toComplete, choices(repeat(26, `{"name":"n","value":"v#"}`)), "", ""},
	{"choice name", "BASE_TYPE_BAD_LENGTH", toComplete, choices(`{"name":"` + text(101) + `","value":"v"}`), "", ""},
	{"blank choice name", "BASE_TYPE_REQUIRED", toComplete, choices(`{"name":" ","value":"v"}`), "", ""},
	{"choice value", "BASE_TYPE_BAD_LENGTH", toComplete, choices(`{"name":"n","value":"` + text(101) + `"}`), "", ""},
	{"choice of another type", "CHOICE_VALUE_TYPE", toComplete, choices(`{"name":"n","value":1}`), "", ""},

	{"form title", "BASE_TYPE_BAD_LENGTH", toCommand, strings.Replace(modal(field("")), "Measured", text(46), 1), "", ""},
	{"form of six parts", "MODAL_PARTS", toCommand, modal(repeat(6, `{"type":1,"components":[{"type":4,"custom_id":"#","style":1,"label":"l"}]}`)), "", ""},
	{"form of nothing", "MODAL_PARTS", toCommand, modal(""), "", ""},
	{"two fields in a row", "MODAL_ROW", toCommand, modal(`{"type":1,"components":[` + repeat(2, `{"type":4,"custom_id":"#","style":1,"label":"l"}`) + `]}`), "", ""},
	{"field without a label", "BASE_TYPE_REQUIRED BASE_TYPE_BAD_LENGTH", toCommand, modal(strings.Replace(field(""), "Width", "", 1)), "", ""},
	{"field label", "BASE_TYPE_BAD_LENGTH", toCommand, modal(strings.Replace(field(""), "Width", text(46), 1)), "", ""},
	{"field with two labels", "MODAL_LABEL_TWICE", toCommand, modal(`{"type":18,"label":"l","component":{"type":4,"custom_id":"w","style":1,"label":"again"}}`), "", ""},
	{"field value over 4000", "BASE_TYPE_BAD_LENGTH TEXT_INPUT_VALUE", toCommand, modal(field(`,"value":"` + text(4001) + `"`)), "", ""},
	{"field range", "TEXT_INPUT_RANGE", toCommand, modal(field(`,"min_length":9,"max_length":8`)), "", ""},
	{"field value out of range", "TEXT_INPUT_VALUE", toCommand, modal(field(`,"max_length":2,"value":"abc"`)), "", ""},

	{"no content type", "CONTENT_TYPE", toCommand, msg(`"content":"x"`), "text/plain", ""},
	{"not JSON", "INVALID_JSON", toCommand, `{"type":4`, "", ""},
	{"payload_json not JSON", "INVALID_JSON", toCommand, multi(partJSON, "{"), mixed, ""},
	{"no payload_json", "MULTIPART_PART", toCommand, multi(partFile, "PNG"), mixed, ""},
	{"part of another name", "MULTIPART_PART", toCommand, multi(partJSON, msg(`"content":"x"`), `name="file"; filename="a.png"`, "PNG"), mixed, ""},
	{"part twice", "MULTIPART_PART", toCommand, multi(partJSON, msg(`"content":"x"`), partJSON, msg(`"content":"y"`)), mixed, ""},
	{"part without filename", "MULTIPART_PART", toCommand, multi(partJSON, msg(`"content":"x"`), `name="files[0]"`, "PNG"), mixed, ""},
	{"cut multipart", "MULTIPART", toCommand, "--xx\r\nContent-Disposition: form-data; name=\"payload_json\"\r\n\r\n{}", mixed, ""},
	{"file over ten MiB", "FILE_TOO_LARGE", toCommand, multi(partJSON, msg(`"content":"x"`), partFile, text(10<<20+1)), mixed, ""},
	{"files without attachments", "ATTACHMENTS_MISSING", toCommand, multi(partJSON, msg(`"content":"x"`), partFile, "PNG"), mixed, ""},
	{"file not listed", "ATTACHMENT_UNLISTED", toCommand, withFile(`[]`), mixed, ""},
	{"attachment without its part", "ATTACHMENT_UNKNOWN", toCommand, withFile(`[{"id":"0","description":"d"},{"id":"1","description":"d"}]`), mixed, ""},
	{"kept attachment that is not there", "ATTACHMENT_UNKNOWN", toEdit, `{` + quiet + `,"content":"x","attachments":[{"id":"123"}]}`, "", ""},
	{"attachment twice", "ATTACHMENT_TWICE", toCommand, withFile(`[{"id":"0","description":"d"},{"id":"0","description":"d"}]`), mixed, ""},
	{"attachment of another name", "ATTACHMENT_NAME", toCommand, withFile(`[{"id":"0","filename":"other.png","description":"d"}]`), mixed, ""},
	{"eleven attachments", "ATTACHMENTS_COUNT ATTACHMENT_UNKNOWN", toCommand, withFile(`[{"id":"0","description":"d"},` + repeat(10, `{"id":"1#","description":"d"}`) + `]`), mixed, ""},
	{"picture without alt text", "HOUSE_ALT_TEXT", toCommand, withFile(`[{"id":"0"}]`), mixed, ""},
	{"alt text too long", "BASE_TYPE_BAD_LENGTH", toCommand, withFile(`[{"id":"0","description":"` + text(1025) + `"}]`), mixed, ""},
	{"commands with files", "CONTENT_TYPE", toGuild, multi(partJSON, commands(""), partFile, "PNG"), mixed, ""},

	{"commands null", "COMMANDS_NULL", toGuild, `null`, "", ""},
	{"name in upper case", "APPLICATION_COMMAND_INVALID_NAME", toGuild, strings.Replace(commands(""), "stack", "Stack", 1), "", ""},
	{"name with a space", "APPLICATION_COMMAND_INVALID_NAME", toGuild, strings.Replace(commands(""), "stack", "two words", 1), "", ""},
	{"name too long", "APPLICATION_COMMAND_INVALID_NAME", toGuild, strings.Replace(commands(""), `"stack"`, `"`+text(33)+`"`, 1), "", ""},
	{"option name", "APPLICATION_COMMAND_INVALID_NAME", toGuild, options(option("no.dots", "")), "", ""},
	{"localized name", "APPLICATION_COMMAND_INVALID_NAME", toGuild, commands(`,"name_localizations":{"de":"Zwei Wörter"}`), "", ""},
	{"no description", "BASE_TYPE_REQUIRED BASE_TYPE_BAD_LENGTH", toGuild, strings.Replace(commands(""), "Find a stack", "", 1), "", ""},
	{"description too long", "BASE_TYPE_BAD_LENGTH", toGuild, strings.Replace(commands(""), "Find a stack", text(101), 1), "", ""},
	{"command twice", "APPLICATION_COMMANDS_DUPLICATE_NAME", toGuild, `[` + repeat(2, `{"name":"stack","description":"d"}`) + `]`, "", ""},
	{"101 commands", "APPLICATION_COMMANDS_COUNT", toGuild, `[` + repeat(101, `{"name":"c#","description":"d"}`) + `]`, "", ""},
	{"26 options", "OPTIONS_COUNT", toGuild, options(repeat(26, option("o#", ""))), "", ""},
	{"option twice", "APPLICATION_COMMAND_OPTIONS_NAME_DUPLICATED", toGuild, options(repeat(2, option("o", ""))), "", ""},
	{"required behind optional", "APPLICATION_COMMAND_OPTIONS_REQUIRED_INVALID", toGuild, options(option("a", "") + "," + option("b", `,"required":true`)), "", ""},
	{"options beside subcommands", "OPTIONS_MIXED", toGuild, options(option("a", "") + `,{"type":1,"name":"s","description":"d"}`), "", ""},
	{"group in a group", "OPTIONS_NESTING", toGuild, options(`{"type":2,"name":"g","description":"d","options":[{"type":2,"name":"h","description":"d"}]}`), "", ""},
	{"option in a group", "OPTIONS_NESTING", toGuild, options(`{"type":2,"name":"g","description":"d","options":[` + option("o", "") + `]}`), "", ""},
	{"26 fixed choices", "CHOICES_COUNT", toGuild, options(option("o", `,"choices":[`+repeat(26, `{"name":"n#","value":"v#"}`)+`]`)), "", ""},
	{"choice twice", "CHOICE_DUPLICATED", toGuild, options(option("o", `,"choices":[`+repeat(2, `{"name":"n#","value":"v"}`)+`]`)), "", ""},
	{"choices and completion", "AUTOCOMPLETE_CHOICES", toGuild, options(option("o", `,"autocomplete":true,"choices":[{"name":"n","value":"v"}]`)), "", ""},
	{"completion of a boolean", "AUTOCOMPLETE_TYPE", toGuild, options(`{"type":5,"name":"o","description":"d","autocomplete":true}`), "", ""},
	{"option range", "OPTION_RANGE", toGuild, options(`{"type":4,"name":"o","description":"d","min_value":2,"max_value":1}`), "", ""},
	{"number option", "HOUSE_NUMBER_OPTION", toGuild, options(`{"type":10,"name":"o","description":"d"}`), "", ""},
	{"any channel", "HOUSE_CHANNEL_TYPES", toGuild, options(`{"type":7,"name":"o","description":"d"}`), "", ""},
	{"forum channel", "HOUSE_CHANNEL_TYPES", toGuild, options(`{"type":7,"name":"o","description":"d","channel_types":[0,15]}`), "", ""},
	{"permissions as a number", "COMMAND_PERMISSIONS", toGuild, commands(`,"default_member_permissions":0`), "", ""},
	// 25 options of 25 choices of 12 + 2 characters: 8750 and more
	{"command over 8000", "APPLICATION_COMMAND_TOO_LARGE", toGuild, options(repeat(25, option("o#", `,"choices":[`+func() string {
		list := make([]string, 25)
		for i := range list {
			list[i] = fmt.Sprintf(`{"name":"%s-%02d","value":"%02d"}`, text(9), i, i)
		}
		return strings.Join(list, ",")
	}()+`]`))), "", ""},
	{"contexts in one server", "HOUSE_INSTALL", toGuild, commands(`,"contexts":[0,1]`), "", ""},
	{"global without contexts", "HOUSE_INSTALL", toGlobal, commands(`,"integration_types":[0]`), "", ""},
	{"global for users", "HOUSE_INSTALL", toGlobal, commands(`,"integration_types":[0,1],"contexts":[0,1]`), "", ""},

	{"User-Agent of a browser", "USER_AGENT", toCommand, msg(`"content":"x"`), "", "Mozilla/5.0"},
	{"route not served", "UNSERVED_ROUTE", toNowhere, `{}`, "", ""},
	{"method not served", "UNSERVED_METHOD", toDeleteCmd, `{}`, "", ""},
}

// bySchema are refused by Discord's description alone.
var bySchema = []payload{
	{"unknown key", "", toCommand, msg(`"content":"x","colour":1`), "", ""},
	{"unknown key in a button", "", toCommand, row(`{"type":2,"style":1,"label":"b","custom_id":"1","colour":1}`), "", ""},
	{"unknown key in a command", "", toGuild, commands(`,"permission":"0"`), "", ""},
	{"unknown key in an option", "", toGuild, options(option("o", `,"optional":true`)), "", ""},
	{"style that does not exist", "", toCommand, row(`{"type":2,"style":9,"label":"b","custom_id":"1"}`), "", ""},
	{"content as a number", "", toCommand, msg(`"content":1,"embeds":[{"title":"t"}]`), "", ""},
	{"colour out of range", "", toCommand, msg(`"embeds":[{"title":"t","color":16777216}]`), "", ""},
	{"timestamp that is none", "", toCommand, msg(`"embeds":[{"title":"t","timestamp":"yesterday"}]`), "", ""},
	{"nonce too long", "", toPost, `{` + quiet + `,"content":"x","nonce":"` + text(26) + `"}`, "", ""},
	{"style of a field", "", toCommand, modal(strings.Replace(field(""), `"style":1`, `"style":3`, 1)), "", ""},
	{"placeholder of a field", "", toCommand, modal(field(`,"required":"yes"`)), "", ""},
	{"option type", "", toGuild, options(`{"type":12,"name":"o","description":"d"}`), "", ""},
	{"permissions that are no number", "", toGuild, commands(`,"default_member_permissions":"admin"`), "", ""},
	{"context that does not exist", "", toGlobal, commands(`,"integration_types":[0],"contexts":[0,1,3]`), "", ""},
}

var accepted = []payload{
	{"content at the limit in UTF-16", "", toCommand, msg(`"content":"` + strings.Repeat("𝛑", 1000) + `"`), "", ""},
	{"private with buttons and embed", "", toCommand, msg(`"content":"x","flags":64,"embeds":[{"title":"t","color":255,"fields":[{"name":"n","value":"v"}]}],
		"components":[` + repeat(5, `{"type":1,"components":[{"type":2,"style":1,"label":"b","custom_id":"#"}]}`) + `]`), "", ""},
	{"embeds at 6000", "", toCommand, msg(`"embeds":[{"description":"` + text(4096) + `","footer":{"text":"` + text(1904) + `"}}]`), "", ""},
	{"menu", "", toCommand, row(`{"type":3,"custom_id":"1","placeholder":"p","options":[{"label":"a","value":"v"}]}`), "", ""},
	{"link", "", toCommand, row(`{"type":2,"style":5,"label":"b","url":"https://example.invalid"}`), "", ""},
	{"picture", "", toCommand, withFile(png), mixed, ""},
	{"picture with a number for an id", "", toCommand, withFile(`[{"id":0,"filename":"stack.png","description":"d"}]`), mixed, ""},
	{"public defer", "", toCommand, `{"type":5}`, "", ""},
	{"private defer", "", toPress, `{"type":5,"data":{"flags":64}}`, "", ""},
	{"form", "", toPress, modal(field(`,"value":"23/32","required":true,"placeholder":"as you read it"`)), "", ""},
	{"form with a label", "", toCommand, modal(`{"type":18,"label":"l","description":"d","component":{"type":4,"custom_id":"w","style":2}}`), "", ""},
	{"update", "", toPress, `{"type":7,"data":{` + quiet + `,"content":"x","components":[],"embeds":[]}}`, "", ""},
	{"deferred update", "", toPress, `{"type":6}`, "", ""},
	{"answer to a form", "", toSubmit, msg(`"content":"x"`), "", ""},
	{"update by a form", "", toSubmit, `{"type":7,"data":{` + quiet + `,"content":"x"}}`, "", ""},
	{"no suggestions", "", toComplete, choices(""), "", ""},
	{"25 suggestions", "", toComplete, choices(repeat(25, `{"name":"n","value":"v#"}`)), "", ""},
	{"edit of the content", "", toEdit, `{` + quiet + `,"content":"y"}`, "", ""},
	{"edit with a picture", "", toEdit, multi(partJSON, `{`+quiet+`,"attachments":`+png+`}`, partFile, "PNG"), mixed, ""},
	{"private follow-up", "", toFollowup, `{` + quiet + `,"content":"y","flags":64}`, "", ""},
	{"post", "", toPost, `{` + quiet + `,"content":"y","nonce":"77","enforce_nonce":true}`, "", ""},
	{"no commands", "", toGuild, `[]`, "", ""},
	{"command with every kind of option", "", toGuild, options(option("set", `,"required":true,"autocomplete":true,"max_length":40`) + `,
		{"type":4,"name":"n","description":"d","min_value":1,"max_value":9},{"type":5,"name":"b","description":"d"},
		{"type":8,"name":"r","description":"d"},{"type":7,"name":"c","description":"d","channel_types":[0,5,10,11,12]},
		` + option("unit", `,"choices":[{"name":"Inch","value":"in"},{"name":"Millimetre","value":"mm"}]`)), "", ""},
	{"subcommands in a group", "", toGuild, options(`{"type":2,"name":"g","description":"d","options":[{"type":1,"name":"s","description":"d","options":[` + option("o", "") + `]}]}`), "", ""},
	{"command that says nothing by null", "", toGuild, options(option("o", `,"choices":null,"channel_types":null,"autocomplete":false`)), "", ""},
	{"global", "", toGlobal, commands(`,"integration_types":[0],"contexts":[0,1],"default_member_permissions":"0"`), "", ""},
	{"name in another script", "", toGuild, strings.Replace(commands(""), `"stack"`, `"nut-größe"`, 1), "", ""},
}

// send takes a payload to where it belongs on a server of its own.
func (p payload) send(t *testing.T) (int, string, *fakediscord.Server) {
	t.Helper()
	s := start(t, &fakediscord.Server{})
	hall, mira := s.AddGuild("Evening class"), s.AddUser("mira")
	bench := hall.Channel("bench")
	app := "/applications/" + s.ApplicationID()
	path, method := "", http.MethodPost
	answer := func(ia *fakediscord.Interaction, body string) fakediscord.Answer {
		if status, text := callback(t, s, ia, body); status != http.StatusNoContent {
			t.Fatalf("preparing: %d %s", status, text)
		}
		a, err := ia.Wait(soon(t))
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	at := func(ia *fakediscord.Interaction) string {
		return "/interactions/" + ia.ID + "/" + ia.Token + "/callback"
	}
	first := s.Command(mira, bench, "stack")
	switch p.where {
	case toCommand:
		path = at(first)
	case toPress:
		path = at(s.Press(mira, answer(first, msg(`"content":"x"`)).Message, "b"))
	case toSubmit:
		press := s.Press(mira, answer(first, msg(`"content":"x"`)).Message, "b")
		path = at(s.Submit(mira, answer(press, modal(field(""))).Modal, nil))
	case toComplete:
		path = at(s.Complete(mira, bench, "stack", fakediscord.Focus(fakediscord.String("set", ""))))
	case toEdit:
		answer(first, msg(`"content":"x"`))
		path, method = "/webhooks/"+s.ApplicationID()+"/"+first.Token+"/messages/@original", http.MethodPatch
	case toFollowup:
		answer(first, msg(`"content":"x"`))
		path = "/webhooks/" + s.ApplicationID() + "/" + first.Token
	case toPost:
		path = "/channels/" + bench.ID + "/messages"
	case toGlobal:
		path, method = app+"/commands", http.MethodPut
	case toGuild:
		path, method = app+"/guilds/"+hall.ID+"/commands", http.MethodPut
	case toNowhere:
		path = "/no/such/route"
	case toDeleteCmd:
		path, method = app+"/commands", http.MethodDelete
	}
	kind := p.kind
	if kind == "" {
		kind = "application/json"
	}
	status, body, _ := requestAs(t, s, p.agent, method, path, kind, p.body)
	return status, body, s
}

func TestRefused(t *testing.T) {
	for _, p := range refused {
		t.Run(strings.ReplaceAll(p.name, " ", "_"), func(t *testing.T) {
			t.Parallel()
			status, body, s := p.send(t)
			if status < 400 || status > 405 || !strings.Contains(body, `"code":`) {
				t.Errorf("got %d %s", status, body)
			}
			want := strings.Fields(p.rule)
			slices.Sort(want)
			if got := broken(s); !slices.Equal(got, want) {
				t.Errorf("broken %v, want %v\n%v", got, want, s.Violations())
			}
		})
	}
}

// broken are the rules that were broken, the description left out.
func broken(s *fakediscord.Server) []string {
	var got []string
	for _, v := range s.Violations() {
		if v.Rule != "BASE_TYPE_SCHEMA" {
			got = append(got, v.Rule)
		}
	}
	slices.Sort(got)
	return slices.Compact(got)
}

func described(t *testing.T) {
	t.Helper()
	var s fakediscord.Server
	defer s.Close()
	if _, err := s.Description(); err != nil {
		t.Skipf("skipped: %v", err)
	}
}

func TestRefusedByDescription(t *testing.T) {
	described(t)
	for _, p := range bySchema {
		t.Run(strings.ReplaceAll(p.name, " ", "_"), func(t *testing.T) {
			t.Parallel()
			status, body, s := p.send(t)
			v := s.Violations()
			if p.where == toGlobal {
				v = slices.DeleteFunc(v, func(v fakediscord.Violation) bool { return v.Rule == "HOUSE_INSTALL" })
			}
			if status != http.StatusBadRequest || len(v) == 0 || v[0].Rule != "BASE_TYPE_SCHEMA" {
				t.Errorf("got %d %s %v", status, body, v)
			}
		})
	}
}

func TestAccepted(t *testing.T) {
	for _, p := range accepted {
		t.Run(strings.ReplaceAll(p.name, " ", "_"), func(t *testing.T) {
			t.Parallel()
			status, body, s := p.send(t)
			if status > 299 {
				t.Errorf("got %d %s", status, body)
			}
			if v := s.Violations(); len(v) > 0 {
				t.Errorf("violations %v", v)
			}
		})
	}
}

// TestEveryRuleHasAPayload keeps the table of refusals whole.
func TestEveryRuleHasAPayload(t *testing.T) {
	var tried []string
	for _, p := range refused {
		tried = append(tried, strings.Fields(p.rule)...)
	}
	code := regexp.MustCompile(`(?:bad\(|unique\([^"]*|code: )"([A-Z][A-Z0-9_]+)"`)
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, name := range files {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		for _, m := range code.FindAllStringSubmatch(string(src), -1) {
			found++
			if !slices.Contains(tried, m[1]) && !slices.Contains(unreachable, m[1]) {
				t.Errorf("%s: no payload breaks %s", name, m[1])
			}
		}
	}
	if found < 50 {
		t.Errorf("found only %d rules in the source", found)
	}
}

// unreachable stand behind a rule that strikes first or behind the description,
// or are about two requests and have a test of their own.
var unreachable = []string{
	"BASE_TYPE_SCHEMA", "DESCRIPTION", "BASE_TYPE_CHOICES", "MODEL_TYPE_CONVERT", "INVALID_UTF8", "WEBHOOK_404_REPEATED",
}
