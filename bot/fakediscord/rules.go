package fakediscord

func ruleProblems(v any, files []upload, f form, c *call, known callContext) []problem { return nil }
