"""The slate page: filmed at the head of a take, it tells camera and person where the song is."""
