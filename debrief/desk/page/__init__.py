"""The review page: what a lead goes through by ear and keyboard in the hour before the debrief, served on this machine alone."""
