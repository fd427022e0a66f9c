"""What a change or a doubt about numbers does to the advice."""
