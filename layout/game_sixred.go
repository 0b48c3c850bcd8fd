package layout

// sixRedGame is six-red snooker: snooker's marks and fewer reds.
func sixRedGame() game {
	g := snookerGame()
	g.ID, g.Name = "six-red", "Six-red snooker"
	g.Summary = "snooker's marks; six reds in three rows"
	g.Reds = 6
	g.FromMemory = true
	return g
}
