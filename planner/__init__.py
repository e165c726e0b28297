"""Plans how a loud, hot server room becomes one that people can work beside."""
