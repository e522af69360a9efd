"""The record: who did what to which job, when, on which revision; and every byte it rested on."""
