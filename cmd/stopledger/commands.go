package main

import "github.com/spf13/cobra"

// commands lists what the program can do, in the order of the work.
func commands(a *app) []*cobra.Command {
	return []*cobra.Command{
		newDemo(a), newServe(a), newAccess(a), newNode(a), newSynth(a), newOutline(a), newLoad(a), newDump(a), newRates(a), newProject(a), newFilmPlan(a), newPeers(a), newVerify(a), newBackup(a), newRestore(a), newForget(a), newAudit(a), newAgree(a), newSettle(a), newCharters(a), newTrain(a), newCheck(a), newAgain(a), newCompare(a), newClips(a), newBrief(a), newWords(a),
	}
}
