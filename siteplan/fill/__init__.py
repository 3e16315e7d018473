"""What goes into a bed, and what must be bought?"""
