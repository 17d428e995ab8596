// Package fakediscord is a stand-in for Discord's REST interface and gateway
// on loopback, for tests of a bot and for driving one by hand.
//
// The zero Server works: give it users and servers, start it, point the bot at
// URL, and act as a member.
//
//	var s fakediscord.Server
//	if err := s.Start(); err != nil { ... }
//	defer s.Close()
//	hall := s.AddGuild("Evening class")
//	mira := s.AddUser("mira")
//	hall.Join(mira)
//	// start the bot against s.URL(), then
//	err := s.WaitReady(ctx)
//	ia := s.Command(mira, hall.Channel("bench"), "stack", fakediscord.String("width", "23/32"))
//	answer, err := ia.Wait(ctx)
//	next := s.Press(mira, answer.Message, answer.Button("Too loose"))
//
// A bot reaches it when URL() stands in place of https://discord.com, by a
// setting of the bot's or by a RoundTripper; paths are the same. GET /gateway
// names a ws:// address on loopback.
//
// It is written from Discord's developer documentation and shares no type with
// the bot, so that both cannot be wrong in the same way. What it knows:
//
//   - gateway.go: sessions, heartbeats, RESUME with replay, close codes;
//   - rest.go: routes, authorisation, rate limits, the error form;
//   - callbacks.go: the first answer to an interaction, its edits, follow-ups;
//   - messages.go, registration.go: channel messages, application commands;
//   - interactions.go, typed.go: acting as a member;
//   - signed.go: the same interactions over signed HTTP;
//   - faults.go: everything that goes wrong on the way;
//   - contract.go: every request against Discord's OpenAPI description;
//   - rules.go, rules_commands.go, body.go: what that description misses.
//
// A request that breaks the contract is answered 400 in Discord's error form
// and kept in Violations, so a test that ends with an empty list has sent
// nothing that Discord would refuse.
//
// Left out, because a bot that only answers interactions has no use for it:
// guild events (no GUILD_CREATE even when the intent is asked for), voice,
// zlib-stream transport compression, reactions, and every route not in rest.go,
// which answer 404 and count as a violation.
package fakediscord
