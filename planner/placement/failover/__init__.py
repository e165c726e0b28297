"""What happens when hosts are lost: what restarts where, and guests dealt out so that it has room."""
