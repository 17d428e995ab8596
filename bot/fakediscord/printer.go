package fakediscord

import (
	"golang.org/x/text/language"
	"golang.org/x/text/message"
)

// printer words the complaints of the schema library.
var printer = message.NewPrinter(language.English)
