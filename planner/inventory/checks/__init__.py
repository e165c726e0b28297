"""What a file must hold: form, names, agreement of its parts, and what is worth a look."""
