"""Where does the sun fall?"""
