"""What was found after a visit was signed: asked lesion by lesion, and told beside what had been foretold."""
