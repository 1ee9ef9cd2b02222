"""What a person does in the log, to the mail settings, and with the outbox."""
