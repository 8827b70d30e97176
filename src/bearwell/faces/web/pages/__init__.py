"""What each page shows: plain values made from one answer of the api, before any HTML."""
