"""The debrief: the event told part by part, each left out when it has nothing to say."""
