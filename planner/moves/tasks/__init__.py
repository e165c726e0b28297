"""The work: what changes, the tasks that change it, what comes before what, and the states on the way."""
