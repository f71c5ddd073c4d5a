package lessons

// plans are the lessons, in the order they are best read. Figures are never in
// these texts: they are worked out by what each names.
var plans = []plan{
	{
		name: "two-legs", title: "Two legs and a neutral", minutes: 8,
		objectives: []string{"say what each pair of supply conductors reads", "tell by its two ends what a load needs"},
		intro: []string{
			"The service brings two legs and a neutral. Each leg swings against the neutral, one up while the other is down, so between them stands twice what either has to neutral. Heating elements are connected between the legs; lamps, motors and controls between one leg and neutral.",
			"A load tells by its two ends what it needs: two legs, or one leg and the neutral.",
		},
		work: (*subject).legs, lack: "with everything off nothing can be told",
		exercises: []foretell{
			{"heat", "", "volts", "warmer.1", "lamp.1", "They hang on different legs, so between their leg ends stands what is between the legs."},
			{"heat", "", "volts", "fuse.1", "lamp.1", "Both are on the same leg: no difference, and no volts, though both are live."},
		},
		keep: []string{"Lights and no heat: one leg may be lost, at the breaker, the outlet or the terminal block, with every part of the machine sound. A thermal fuse or a limit that is open looks just the same. Measure leg to leg at the terminal block with the load on, before a part is blamed.",
			"Where one leg and the neutral feed everything, a lost leg takes lights and heat alike."},
	},
	{
		name: "both-ends", title: "Both ends live and nothing across", minutes: 10,
		objectives: []string{"say why a dead element reads line voltage at both ends", "tell a lost feed from a broken element by one reading"},
		intro: []string{
			"Lose one leg, and the element carries no current. Without current nothing drops across it: its far end stands at the voltage of the leg that is left. Each end to neutral then reads as if all were well.",
			"Measure across the element. Only that reading tells a lost leg from a broken element.",
		},
		work: (*subject).bothEnds, lack: "it has no load between two legs",
		exercises: []foretell{
			{"heat", "limit:open", "volts", "element.2", "block.N.out", "No current flows, so nothing drops in the element: its far end comes to the leg that is left."},
			{"heat", "limit:open", "volts", "limit.1", "limit.2", "The open has the whole feed across it: one side at each leg."},
			{"heat", "element:open", "volts", "element.1", "element.2", "A feed and no way through: that is what a broken element reads."},
		},
		keep: []string{"The voltage at a terminal says where the break is not; the voltage across the load says whether it has a feed. An element with a feed and no heat is open: prove it with the supply off."},
	},
	{
		name: "half-works", title: "Half the machine works", minutes: 10,
		objectives: []string{"go from what works and what does not to the conductor that is lost", "say why that does not prove it"},
		intro: []string{
			"What still works is the best reading there is, and it costs nothing. Each load hangs on two conductors of the supply; it goes when either does.",
		},
		work: (*subject).halfWorks, lack: "the loss of any conductor takes its loads alike",
		exercises: []foretell{
			{"heat", "supply.L2:open", "volts", "lamp.1", "lamp.2", "The lamp hangs on the leg that is left and on neutral: it notices nothing."},
			{"heat", "supply.L1:open", "volts", "relay.A1", "relay.A2", "Without its leg the coil gets nothing, the contact stays open, and the element is cold for that reason too."},
		},
		keep: []string{"Sort the loads by the conductors they hang on before the first screw is turned. What works clears every part it shares with what does not."},
	},
	{
		name: "switch-volts", title: "Volts across a switch", minutes: 12,
		objectives: []string{"read a contact as closed or open, live and dead", "avoid the two traps of 0 V across a contact", "say what holds a relay's contact"},
		intro: []string{
			"Every switch, limit, fuse and relay is a contact: closed it has no voltage across it while the load runs, and next to no ohms with the supply off. Open, and the only thing open, it has the whole feed across it.",
			"What differs is what moves it. A relay's contact is only as good as what holds it: its coil, or the control that drives it.",
		},
		work: (*subject).switchVolts, lack: "no contact is on the feed of its largest load",
		exercises: []foretell{
			{"heat", "fuse:open", "volts", "relay.com", "relay.no", "The relay is closed: nothing across it. That the feed is open elsewhere does not show here."},
			{"off", "", "volts", "relay.com", "relay.no", "Open, and nothing else is: the whole feed is across it."},
			{"heat", "element:open", "volts", "fuse.1", "fuse.2", "No current, no drop. The reading cannot tell a good fuse from a load that draws nothing."},
		},
		keep: []string{"Full voltage across a contact: it is open, and all the rest of the way is closed. No voltage: closed, or something else is open. A coil without volts is not the relay's fault."},
	},
	{
		name: "other-way", title: "Continuity by another way", minutes: 8,
		objectives: []string{"tell when an ohmmeter looks through another part", "say which lead to lift"},
		intro: []string{
			"An ohmmeter sees every way from one probe to the other. Where another way runs beside the part, an open part does not read open.",
			"Lift one lead, and the way beside it is gone.",
		},
		work: (*subject).otherWay, lack: "no open of a single part is hidden by a way beside it",
		exercises: []foretell{
			{"off", "indicator:open", "ohms", "indicator.1", "indicator.2", "The element lies beside it, and has far fewer ohms: with or without the indicator the reading is the element's."},
			{"off", "element:open", "continuity", "element.1", "element.2", "The way goes through the indicator, whose filament is cold: more ohms than a tester beeps for."},
		},
		keep: []string{"Supply off, locked out, tested dead, before an ohmmeter or a hand goes near. Before you trust ohms in circuit, follow every way from one probe to the other."},
	},
	{
		name: "under-load", title: "Beeps, and fails under load", minutes: 10,
		objectives: []string{"say why a bad joint reads well with nothing on", "choose the test that finds it"},
		intro: []string{
			"A burnt joint is a resistance in series. It takes a share of the voltage in step with the current: with nothing on there is no current, so it takes nothing, and the reading is as good as new.",
			"Voltage means something only while the load draws its current.",
		},
		work: (*subject).underLoad, lack: "it has no load that is switched on and off",
		exercises: []foretell{
			{"heat", "w8:high=4", "volts", "element.1", "element.2", "Joint and element share the voltage by their ohms."},
			{"off", "w8:high=4", "volts", "limit.1", "block.L1.out", "Next to no current, next to no drop: as good as new."},
			{"heat", "w8:high=4", "volts", "block.L2.out", "limit.1", "Both ends of one wire, under load: a good wire reads next to nothing, this one does not."},
		},
		keep: []string{"What is lost across the joint turns to heat in the joint. That is what burns terminal blocks. Look for a drop across what should have none, with the load on."},
	},
	{
		name: "burnt-block", title: "The burnt terminal block", minutes: 8,
		objectives: []string{"work out the heat in a joint from its ohms and the current", "say why the load complains last"},
		intro: []string{
			"Where the supply lands, every ampere of the machine goes through one screw. Its heat is the current, squared, times its ohms.",
		},
		work: (*subject).burntBlock, lack: "no joint of its largest feed gets warm before the load fails",
		exercises: []foretell{
			{"heat", "block.L1:high=0.5", "volts", "block.L1.in", "block.L1.out", "Amps times ohms: small beside the line, and all of it heat in the block."},
			{"heat", "block.L1:high=0.5", "volts", "element.1", "element.2", "The element hardly notices, and neither does the customer."},
		},
		keep: []string{"A block that is brown is replaced with the ends of its wires, and what it fed is looked at for what drew the current. A tight new screw on a burnt end burns again (common practice, no source)."},
	},
	{
		name: "stray-voltage", title: "Stray voltage", minutes: 6,
		objectives: []string{"tell a floating reading from a live one", "use the low-impedance function for it"},
		intro: []string{
			"A wire tied to nothing at its end picks up a voltage from what runs beside it. A meter of many megohms shows it, and it wanders.",
		},
		work: (*subject).stray, lack: "no end of its largest load is ever left hanging",
		exercises: []foretell{
			{"off", "limit:open", "volts", "element.1", "block.N.out", "With the relay open and the limit open too, the element hangs on nothing."},
			{"off", "limit:open", "lowz", "element.1", "block.N.out", "The load of the meter itself takes what was picked up away."},
			{"off", "", "lowz", "element.1", "block.N.out", "Closed limit: the element is tied to its leg, and keeps its volts on either function. It is live, with the machine switched off."},
		},
		keep: []string{"Some volts that should not be there: once more on low impedance. Gone, it was stray. Still there, it is a leg. Until you know, it is live."},
	},
	{
		name: "three-or-four", title: "Three or four wires", minutes: 8,
		objectives: []string{"tell the two hookups apart", "say what the metal does when the neutral goes"},
		intro: []string{
			"On four wires the metal has an earth of its own, and the neutral is kept apart from it. On three, an older hookup, a strap joins the neutral to the metal, and the neutral has to serve as earth.",
		},
		work: (*subject).threeFour, lack: "no load of it uses the neutral",
		exercises: []foretell{
			{"heat", "supply.N:open", "volts", "block.N.out", "chassis", "Four wires here: the block's neutral is no longer at neutral, and the metal still is at earth."},
			{"heat", "", "volts", "block.N.out", "chassis", "Sound, both are at the same."},
		},
		keep: []string{"A strap and a cord of four wires do not go together: the strap comes off. A cord of three without the strap leaves the metal without earth. Local codes say which hookup is allowed."},
	},
	{
		name: "lost-neutral", title: "Odd volts to neutral", minutes: 10,
		objectives: []string{"know a lost neutral by its voltages", "say which loads are in danger"},
		intro: []string{
			"Loads between the legs do not notice a lost neutral, unless what switches them on needs it. Loads between a leg and neutral have lost one end: those on one leg and those on the other are now in series across both legs, and share the voltage by their resistance: the smallest load, with the most ohms, takes the most.",
			"Where only one leg feeds such loads they go dead, and their neutral ends stand at the voltage of the leg. On a machine whose neutral is bonded to its metal, the metal then does too.",
		},
		work: (*subject).lostNeutral, lack: "no load of it uses the neutral",
		exercises: []foretell{
			{"off", "supply.N:open", "volts", "lamp.1", "lamp.2", "Lamp and warmer are in series across both legs; the lamp, with ten times the ohms, takes nearly all."},
			{"heat", "supply.N:open", "volts", "element.1", "element.2", "Between the legs nothing changes, as long as the coil still holds."},
		},
		keep: []string{"Lamps too bright on one leg and too dim on the other, or everything at 120 V dead at once while its neutral ends are live: supply off. It is the neutral, ahead of all of them."},
	},
	{
		name: "grounded", title: "Ohms good, and grounded", minutes: 8,
		objectives: []string{"take both readings of an element", "say why a ground need not trip anything"},
		intro: []string{
			"An element is a coil in a sheath. Its ohms from end to end say nothing of whether the coil touches the sheath. Where it does, the sheath is a third end.",
		},
		work: (*subject).grounded, lack: "its largest load has no sheath to touch",
		exercises: []foretell{
			{"off", "element:grounded=0.5", "ohms", "element.1", "element.2", "End to end the whole coil is still there."},
			{"off", "element:grounded=0.25", "ohms", "element.1", "chassis", "From the end to where it touches, in place of open: a quarter of the coil, and what lies beside it."},
		},
		keep: []string{"Two readings of every element, supply off and one lead lifted: end to end, and each end to the metal. A good one is open to the metal."},
	},
	{
		name: "glows-off", title: "It glows with the machine off", minutes: 8,
		objectives: []string{"say what keeps a load on with its control at rest", "tell a weld from a ground by the heat"},
		intro: []string{
			"Off means that a contact is open, not that the machine is dead. A contact that welds shut, or another way to the far leg, keeps the load on.",
		},
		work: (*subject).glowsOff, lack: "nothing that goes wrong in one or two places keeps its largest load on",
		exercises: []foretell{
			{"off", "relay.contact:welded", "volts", "element.1", "element.2", "The contact is the only thing that was open."},
			{"off", "element:grounded=0.5", "volts", "element.2", "block.N.out", "This end is tied to its leg through the limit, off or not: half the coil has a leg at one end and the metal at the other."},
		},
		keep: []string{"A load that will not go off: supply off at the breaker, first. Then each contact on its way, dead, and the element to the metal."},
	},
	{
		name: "board-in-vain", title: "The board that was changed in vain", minutes: 10,
		objectives: []string{"list what a board needs before it drives anything", "clear or blame it by readings at its own pins"},
		intro: []string{
			"A control closes its relay only when it has its supply and sees what it must. A load that stays cold while the board does nothing looks like a bad board.",
		},
		small: onBoard, work: (*subject).boardInVain, lack: "no control drives a contact on the feed of its largest load",
		exercises: []foretell{
			{"heat", "sensor:open", "volts", "board.L", "board.N", "It has its supply: it refuses because of what it sees."},
			{"heat", "sensor:open", "ohms", "board.S1", "board.S2", "Supply off, at the board's own pins: so the board, the plug and the wires are all in the reading."},
			{"heat", "board_fuse:open", "volts", "board.L", "board.N", "No supply, no drive, and nothing wrong with the board."},
		},
		keep: []string{"Supply in, senses in range, and no drive out: then it is the board. The machine's own diagnostic routine, where there is one, is the confirming test."},
	},
	{
		name: "wrong-supply", title: "208 or 120 V on parts for 240", minutes: 8,
		objectives: []string{"work out watts on another voltage", "tell low supply from a bad element"},
		intro: []string{
			"Two legs of a three-phase service in wye stand 208 V apart, and 120 V each to neutral. Nothing is broken, and every element between the legs is slow. Watts go with the square of the volts.",
		},
		work: (*subject).wrongSupply, lack: "it has no load for 240 V between two legs",
		exercises: []foretell{
			{"heat", "supply:drifted=0.8667", "volts", "element.1", "element.2", "Supply low by the ratio of 208 to 240."},
			{"off", "supply:drifted=0.8667", "ohms", "element.1", "element.2", "Ohms do not know what the service brings."},
			{"heat", "supply.L2:fed=0/0", "volts", "element.1", "element.2", "Neutral where the second leg should be: one leg is all there is."},
		},
		keep: []string{"Slow everywhere between the legs and right everywhere to neutral: read leg to leg at the outlet before a part is ordered. An element for 208 V on 240 V gets a third more than it is made for."},
	},
	{
		name: "diagram-and-place", title: "The diagram is not the machine", minutes: 8,
		objectives: []string{"find the place on a machine where a line of the diagram is reached soonest", "tell neighbours on paper from neighbours in the machine"},
		intro: []string{
			"A diagram puts together what is joined by wire. The machine puts together what has room there. Places that are one line on paper read the same, wherever they are, so probe where the panel is open already.",
		},
		small: placed, work: (*subject).place, lack: "every stretch of its largest feed is reached best where the diagram has it, or the netlist names no places",
		exercises: []foretell{
			{"heat", "", "volts", "block.L1.out", "fuse.1", "One line on the diagram: no difference between its ends."},
			{"heat", "w5:open", "volts", "block.L1.out", "fuse.1", "The wire between is cut: they are no longer one place, which is how a cut wire is found."},
		},
		keep: []string{"Before a panel comes off, ask which other place is on the same line. A reading that differs along one line is a finding: the wire between is open."},
	},
	{
		name: "fuse-tells", title: "What a fuse tells", minutes: 8,
		objectives: []string{"tell what opens by current from what opens by heat", "look for the cause before fitting a new one"},
		intro: []string{
			"A fuse or breaker opens by current: a short or a ground is behind it. A thermal fuse or limit opens by heat: something stayed on, or air stood still. Neither is the cause.",
		},
		small: fused, work: (*subject).fuseTells, lack: "nothing in it opens by current or by heat",
		exercises: []foretell{
			{"off", "element:short", "ohms", "element.1", "element.2", "A dead short in place of its ohms: it would open the next fuse as well."},
			{"heat", "fuse:open", "volts", "fuse.1", "fuse.2", "The whole feed across it: open, and everything else closed."},
		},
		keep: []string{"A contact that has opened has a cause. A new fuse without it is a test, not a repair, and not a safe one."},
	},
}
